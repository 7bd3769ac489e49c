CREATE TABLE "supply_terms" ("id" INTEGER NOT NULL PRIMARY KEY, "part_id" INTEGER NOT NULL, "supplier_id" INTEGER NOT NULL, "lead_time_days" INTEGER, "pack_quantity" INTEGER, "preferred" INTEGER NOT NULL, "source" TEXT NOT NULL, "event_id" INTEGER NOT NULL, CONSTRAINT supply_lead_time CHECK (lead_time_days IS NULL OR lead_time_days >= 0), CONSTRAINT supply_pack CHECK (pack_quantity IS NULL OR pack_quantity > 0), CONSTRAINT supply_preferred_is_flag CHECK (preferred IN (0, 1)), CONSTRAINT "supply_terms_refers_part_id" FOREIGN KEY ("part_id") REFERENCES "part" ("id"), CONSTRAINT "supply_terms_refers_supplier_id" FOREIGN KEY ("supplier_id") REFERENCES "company" ("id"), CONSTRAINT "supply_terms_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED) STRICT
--;
CREATE UNIQUE INDEX "supply_terms_one_part_id_supplier_id" ON "supply_terms" ("part_id", "supplier_id")
--;
CREATE UNIQUE INDEX "supply_terms_one_part_id" ON "supply_terms" ("part_id") WHERE preferred = 1
--;
CREATE INDEX "supply_terms_by_event_id" ON "supply_terms" ("event_id")
--;
CREATE TABLE "purchase_order" ("id" INTEGER NOT NULL PRIMARY KEY, "code" TEXT NOT NULL, "supplier_id" INTEGER NOT NULL, "reference" TEXT NOT NULL, "event_id" INTEGER NOT NULL, CONSTRAINT "purchase_order_refers_supplier_id" FOREIGN KEY ("supplier_id") REFERENCES "company" ("id"), CONSTRAINT "purchase_order_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED) STRICT
--;
CREATE UNIQUE INDEX "purchase_order_one_code" ON "purchase_order" ("code")
--;
CREATE INDEX "purchase_order_by_event_id" ON "purchase_order" ("event_id")
--;
CREATE TABLE "order_line" ("id" INTEGER NOT NULL PRIMARY KEY, "purchase_order_id" INTEGER NOT NULL, "part_id" INTEGER NOT NULL, "quantity" INTEGER NOT NULL, "due_on" TEXT NOT NULL, "cancelled_event_id" INTEGER, CONSTRAINT order_line_quantity CHECK (quantity > 0), CONSTRAINT "order_line_refers_purchase_order_id" FOREIGN KEY ("purchase_order_id") REFERENCES "purchase_order" ("id"), CONSTRAINT "order_line_refers_part_id" FOREIGN KEY ("part_id") REFERENCES "part" ("id"), CONSTRAINT "order_line_refers_cancelled_event_id" FOREIGN KEY ("cancelled_event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED) STRICT
--;
CREATE UNIQUE INDEX "order_line_one_purchase_order_id_part_id" ON "order_line" ("purchase_order_id", "part_id")
--;
CREATE INDEX "order_line_by_part_id" ON "order_line" ("part_id")
--;
CREATE INDEX "order_line_by_cancelled_event_id" ON "order_line" ("cancelled_event_id")
--;
CREATE TABLE "order_arrival" ("id" INTEGER NOT NULL PRIMARY KEY, "order_line_id" INTEGER NOT NULL, "receipt_line_id" INTEGER NOT NULL, "event_id" INTEGER NOT NULL, CONSTRAINT "order_arrival_refers_order_line_id" FOREIGN KEY ("order_line_id") REFERENCES "order_line" ("id"), CONSTRAINT "order_arrival_refers_receipt_line_id" FOREIGN KEY ("receipt_line_id") REFERENCES "receipt_line" ("id"), CONSTRAINT "order_arrival_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED) STRICT
--;
CREATE UNIQUE INDEX "order_arrival_one_receipt_line_id" ON "order_arrival" ("receipt_line_id")
--;
CREATE INDEX "order_arrival_by_order_line_id" ON "order_arrival" ("order_line_id")
--;
CREATE INDEX "order_arrival_by_event_id" ON "order_arrival" ("event_id")
--;
CREATE TRIGGER supply_terms_never_deleted BEFORE DELETE ON "supply_terms" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER purchase_order_never_deleted BEFORE DELETE ON "purchase_order" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER purchase_order_never_changed BEFORE UPDATE ON "purchase_order" BEGIN SELECT RAISE(ABORT, 'guard: history can not be changed'); END
--;
CREATE TRIGGER order_line_never_deleted BEFORE DELETE ON "order_line" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER order_arrival_never_deleted BEFORE DELETE ON "order_arrival" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER order_arrival_never_changed BEFORE UPDATE ON "order_arrival" BEGIN SELECT RAISE(ABORT, 'guard: history can not be changed'); END
