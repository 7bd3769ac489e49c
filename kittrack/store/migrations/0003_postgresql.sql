CREATE TABLE "lot_sample" ("id" BIGINT NOT NULL PRIMARY KEY, "receipt_line_id" BIGINT NOT NULL, "severity" TEXT COLLATE "C" NOT NULL, "lot_size" BIGINT NOT NULL, "sample_size" BIGINT NOT NULL, "faulty" BIGINT, "passed" BIGINT NOT NULL, "event_id" BIGINT NOT NULL, CONSTRAINT sample_severity CHECK (severity IN ('normal', 'tightened', 'reduced')), CONSTRAINT sample_size CHECK (sample_size BETWEEN 1 AND lot_size))
--;
CREATE INDEX "lot_sample_by_receipt_line_id" ON "lot_sample" ("receipt_line_id")
--;
CREATE TABLE "sampling_decision" ("id" BIGINT NOT NULL PRIMARY KEY, "part_id" BIGINT NOT NULL, "supplier_id" BIGINT NOT NULL, "kind" TEXT COLLATE "C" NOT NULL, "event_id" BIGINT NOT NULL, CONSTRAINT sampling_decision_kind CHECK (kind IN ('resume', 'allow reduced', 'no reduced')))
--;
CREATE INDEX "sampling_decision_by_part_id_supplier_id" ON "sampling_decision" ("part_id", "supplier_id")
--;
CREATE TABLE "trim" ("id" BIGINT NOT NULL PRIMARY KEY, "piece_id" BIGINT NOT NULL, "mass_ug" BIGINT NOT NULL, "radius_um" BIGINT NOT NULL, "event_id" BIGINT NOT NULL, CONSTRAINT trim_is_something CHECK (mass_ug <> 0 AND radius_um > 0))
--;
CREATE INDEX "trim_by_piece_id" ON "trim" ("piece_id")
--;
ALTER TABLE "lot_sample" ADD CONSTRAINT "lot_sample_refers_receipt_line_id" FOREIGN KEY ("receipt_line_id") REFERENCES "receipt_line" ("id")
--;
ALTER TABLE "lot_sample" ADD CONSTRAINT "lot_sample_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED
--;
ALTER TABLE "sampling_decision" ADD CONSTRAINT "sampling_decision_refers_part_id" FOREIGN KEY ("part_id") REFERENCES "part" ("id")
--;
ALTER TABLE "sampling_decision" ADD CONSTRAINT "sampling_decision_refers_supplier_id" FOREIGN KEY ("supplier_id") REFERENCES "company" ("id")
--;
ALTER TABLE "sampling_decision" ADD CONSTRAINT "sampling_decision_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED
--;
ALTER TABLE "trim" ADD CONSTRAINT "trim_refers_piece_id" FOREIGN KEY ("piece_id") REFERENCES "piece" ("id")
--;
ALTER TABLE "trim" ADD CONSTRAINT "trim_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED
--;
CREATE TRIGGER lot_sample_never_deleted BEFORE DELETE ON "lot_sample" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER lot_sample_never_emptied BEFORE TRUNCATE ON "lot_sample" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER lot_sample_never_changed BEFORE UPDATE ON "lot_sample" FOR EACH ROW EXECUTE FUNCTION never_changed()
--;
CREATE TRIGGER sampling_decision_never_deleted BEFORE DELETE ON "sampling_decision" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER sampling_decision_never_emptied BEFORE TRUNCATE ON "sampling_decision" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER sampling_decision_never_changed BEFORE UPDATE ON "sampling_decision" FOR EACH ROW EXECUTE FUNCTION never_changed()
--;
CREATE TRIGGER trim_never_deleted BEFORE DELETE ON "trim" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER trim_never_emptied BEFORE TRUNCATE ON "trim" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER trim_never_changed BEFORE UPDATE ON "trim" FOR EACH ROW EXECUTE FUNCTION never_changed()