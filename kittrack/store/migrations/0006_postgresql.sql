CREATE TABLE "kit_list_end" ("id" BIGINT NOT NULL PRIMARY KEY, "kit_list_line_id" BIGINT NOT NULL, "event_id" BIGINT NOT NULL, "again_event_id" BIGINT)
--;
CREATE INDEX "kit_list_end_by_kit_list_line_id" ON "kit_list_end" ("kit_list_line_id")
--;
ALTER TABLE "kit_list_end" ADD CONSTRAINT "kit_list_end_refers_kit_list_line_id" FOREIGN KEY ("kit_list_line_id") REFERENCES "kit_list_line" ("id")
--;
ALTER TABLE "kit_list_end" ADD CONSTRAINT "kit_list_end_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED
--;
ALTER TABLE "kit_list_end" ADD CONSTRAINT "kit_list_end_refers_again_event_id" FOREIGN KEY ("again_event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED
--;
CREATE TRIGGER kit_list_end_never_deleted BEFORE DELETE ON "kit_list_end" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER kit_list_end_never_emptied BEFORE TRUNCATE ON "kit_list_end" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TABLE "left_out" ("id" BIGINT NOT NULL PRIMARY KEY, "job_position_id" BIGINT NOT NULL, "event_id" BIGINT NOT NULL)
--;
CREATE UNIQUE INDEX "left_out_one_job_position_id" ON "left_out" ("job_position_id")
--;
ALTER TABLE "left_out" ADD CONSTRAINT "left_out_refers_job_position_id" FOREIGN KEY ("job_position_id") REFERENCES "job_position" ("id")
--;
ALTER TABLE "left_out" ADD CONSTRAINT "left_out_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED
--;
CREATE TRIGGER left_out_never_deleted BEFORE DELETE ON "left_out" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER left_out_never_emptied BEFORE TRUNCATE ON "left_out" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER left_out_never_changed BEFORE UPDATE ON "left_out" FOR EACH ROW EXECUTE FUNCTION never_changed()