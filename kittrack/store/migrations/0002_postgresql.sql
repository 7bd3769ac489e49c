CREATE TABLE "supply_terms" ("id" BIGINT NOT NULL PRIMARY KEY, "part_id" BIGINT NOT NULL, "supplier_id" BIGINT NOT NULL, "lead_time_days" BIGINT, "pack_quantity" BIGINT, "preferred" BIGINT NOT NULL, "source" TEXT COLLATE "C" NOT NULL, "event_id" BIGINT NOT NULL, CONSTRAINT supply_lead_time CHECK (lead_time_days IS NULL OR lead_time_days >= 0), CONSTRAINT supply_pack CHECK (pack_quantity IS NULL OR pack_quantity > 0), CONSTRAINT supply_preferred_is_flag CHECK (preferred IN (0, 1)))
--;
CREATE UNIQUE INDEX "supply_terms_one_part_id_supplier_id" ON "supply_terms" ("part_id", "supplier_id")
--;
CREATE UNIQUE INDEX "supply_terms_one_part_id" ON "supply_terms" ("part_id") WHERE preferred = 1
--;
CREATE TABLE "purchase_order" ("id" BIGINT NOT NULL PRIMARY KEY, "code" TEXT COLLATE "C" NOT NULL, "supplier_id" BIGINT NOT NULL, "reference" TEXT COLLATE "C" NOT NULL, "event_id" BIGINT NOT NULL)
--;
CREATE UNIQUE INDEX "purchase_order_one_code" ON "purchase_order" ("code")
--;
CREATE TABLE "order_line" ("id" BIGINT NOT NULL PRIMARY KEY, "purchase_order_id" BIGINT NOT NULL, "part_id" BIGINT NOT NULL, "quantity" BIGINT NOT NULL, "due_on" TEXT COLLATE "C" NOT NULL, "cancelled_event_id" BIGINT, CONSTRAINT order_line_quantity CHECK (quantity > 0))
--;
CREATE UNIQUE INDEX "order_line_one_purchase_order_id_part_id" ON "order_line" ("purchase_order_id", "part_id")
--;
CREATE INDEX "order_line_by_part_id" ON "order_line" ("part_id")
--;
CREATE TABLE "order_arrival" ("id" BIGINT NOT NULL PRIMARY KEY, "order_line_id" BIGINT NOT NULL, "receipt_line_id" BIGINT NOT NULL, "event_id" BIGINT NOT NULL)
--;
CREATE UNIQUE INDEX "order_arrival_one_receipt_line_id" ON "order_arrival" ("receipt_line_id")
--;
CREATE INDEX "order_arrival_by_order_line_id" ON "order_arrival" ("order_line_id")
--;
ALTER TABLE "supply_terms" ADD CONSTRAINT "supply_terms_refers_part_id" FOREIGN KEY ("part_id") REFERENCES "part" ("id")
--;
ALTER TABLE "supply_terms" ADD CONSTRAINT "supply_terms_refers_supplier_id" FOREIGN KEY ("supplier_id") REFERENCES "company" ("id")
--;
ALTER TABLE "supply_terms" ADD CONSTRAINT "supply_terms_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED
--;
ALTER TABLE "purchase_order" ADD CONSTRAINT "purchase_order_refers_supplier_id" FOREIGN KEY ("supplier_id") REFERENCES "company" ("id")
--;
ALTER TABLE "purchase_order" ADD CONSTRAINT "purchase_order_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED
--;
ALTER TABLE "order_line" ADD CONSTRAINT "order_line_refers_purchase_order_id" FOREIGN KEY ("purchase_order_id") REFERENCES "purchase_order" ("id")
--;
ALTER TABLE "order_line" ADD CONSTRAINT "order_line_refers_part_id" FOREIGN KEY ("part_id") REFERENCES "part" ("id")
--;
ALTER TABLE "order_line" ADD CONSTRAINT "order_line_refers_cancelled_event_id" FOREIGN KEY ("cancelled_event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED
--;
ALTER TABLE "order_arrival" ADD CONSTRAINT "order_arrival_refers_order_line_id" FOREIGN KEY ("order_line_id") REFERENCES "order_line" ("id")
--;
ALTER TABLE "order_arrival" ADD CONSTRAINT "order_arrival_refers_receipt_line_id" FOREIGN KEY ("receipt_line_id") REFERENCES "receipt_line" ("id")
--;
ALTER TABLE "order_arrival" ADD CONSTRAINT "order_arrival_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED
--;
CREATE TRIGGER supply_terms_never_deleted BEFORE DELETE ON "supply_terms" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER supply_terms_never_emptied BEFORE TRUNCATE ON "supply_terms" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER purchase_order_never_deleted BEFORE DELETE ON "purchase_order" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER purchase_order_never_emptied BEFORE TRUNCATE ON "purchase_order" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER purchase_order_never_changed BEFORE UPDATE ON "purchase_order" FOR EACH ROW EXECUTE FUNCTION never_changed()
--;
CREATE TRIGGER order_line_never_deleted BEFORE DELETE ON "order_line" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER order_line_never_emptied BEFORE TRUNCATE ON "order_line" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER order_arrival_never_deleted BEFORE DELETE ON "order_arrival" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER order_arrival_never_emptied BEFORE TRUNCATE ON "order_arrival" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER order_arrival_never_changed BEFORE UPDATE ON "order_arrival" FOR EACH ROW EXECUTE FUNCTION never_changed()
