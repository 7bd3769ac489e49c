CREATE TABLE "lot_sample" ("id" INTEGER NOT NULL PRIMARY KEY, "receipt_line_id" INTEGER NOT NULL, "severity" TEXT NOT NULL, "lot_size" INTEGER NOT NULL, "sample_size" INTEGER NOT NULL, "faulty" INTEGER, "passed" INTEGER NOT NULL, "event_id" INTEGER NOT NULL, CONSTRAINT sample_severity CHECK (severity IN ('normal', 'tightened', 'reduced')), CONSTRAINT sample_size CHECK (sample_size BETWEEN 1 AND lot_size), CONSTRAINT "lot_sample_refers_receipt_line_id" FOREIGN KEY ("receipt_line_id") REFERENCES "receipt_line" ("id"), CONSTRAINT "lot_sample_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED) STRICT
--;
CREATE INDEX "lot_sample_by_receipt_line_id" ON "lot_sample" ("receipt_line_id")
--;
CREATE INDEX "lot_sample_by_event_id" ON "lot_sample" ("event_id")
--;
CREATE TABLE "sampling_decision" ("id" INTEGER NOT NULL PRIMARY KEY, "part_id" INTEGER NOT NULL, "supplier_id" INTEGER NOT NULL, "kind" TEXT NOT NULL, "event_id" INTEGER NOT NULL, CONSTRAINT sampling_decision_kind CHECK (kind IN ('resume', 'allow reduced', 'no reduced')), CONSTRAINT "sampling_decision_refers_part_id" FOREIGN KEY ("part_id") REFERENCES "part" ("id"), CONSTRAINT "sampling_decision_refers_supplier_id" FOREIGN KEY ("supplier_id") REFERENCES "company" ("id"), CONSTRAINT "sampling_decision_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED) STRICT
--;
CREATE INDEX "sampling_decision_by_part_id_supplier_id" ON "sampling_decision" ("part_id", "supplier_id")
--;
CREATE INDEX "sampling_decision_by_event_id" ON "sampling_decision" ("event_id")
--;
CREATE TABLE "trim" ("id" INTEGER NOT NULL PRIMARY KEY, "piece_id" INTEGER NOT NULL, "mass_ug" INTEGER NOT NULL, "radius_um" INTEGER NOT NULL, "event_id" INTEGER NOT NULL, CONSTRAINT trim_is_something CHECK (mass_ug <> 0 AND radius_um > 0), CONSTRAINT "trim_refers_piece_id" FOREIGN KEY ("piece_id") REFERENCES "piece" ("id"), CONSTRAINT "trim_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED) STRICT
--;
CREATE INDEX "trim_by_piece_id" ON "trim" ("piece_id")
--;
CREATE INDEX "trim_by_event_id" ON "trim" ("event_id")
--;
CREATE TRIGGER lot_sample_never_deleted BEFORE DELETE ON "lot_sample" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER lot_sample_never_changed BEFORE UPDATE ON "lot_sample" BEGIN SELECT RAISE(ABORT, 'guard: history can not be changed'); END
--;
CREATE TRIGGER sampling_decision_never_deleted BEFORE DELETE ON "sampling_decision" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER sampling_decision_never_changed BEFORE UPDATE ON "sampling_decision" BEGIN SELECT RAISE(ABORT, 'guard: history can not be changed'); END
--;
CREATE TRIGGER trim_never_deleted BEFORE DELETE ON "trim" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER trim_never_changed BEFORE UPDATE ON "trim" BEGIN SELECT RAISE(ABORT, 'guard: history can not be changed'); END