CREATE TABLE "kit_list_end" ("id" INTEGER NOT NULL PRIMARY KEY, "kit_list_line_id" INTEGER NOT NULL, "event_id" INTEGER NOT NULL, "again_event_id" INTEGER, CONSTRAINT "kit_list_end_refers_kit_list_line_id" FOREIGN KEY ("kit_list_line_id") REFERENCES "kit_list_line" ("id"), CONSTRAINT "kit_list_end_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED, CONSTRAINT "kit_list_end_refers_again_event_id" FOREIGN KEY ("again_event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED) STRICT
--;
CREATE INDEX "kit_list_end_by_kit_list_line_id" ON "kit_list_end" ("kit_list_line_id")
--;
CREATE INDEX "kit_list_end_by_event_id" ON "kit_list_end" ("event_id")
--;
CREATE INDEX "kit_list_end_by_again_event_id" ON "kit_list_end" ("again_event_id")
--;
CREATE TRIGGER kit_list_end_never_deleted BEFORE DELETE ON "kit_list_end" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TABLE "left_out" ("id" INTEGER NOT NULL PRIMARY KEY, "job_position_id" INTEGER NOT NULL, "event_id" INTEGER NOT NULL, CONSTRAINT "left_out_refers_job_position_id" FOREIGN KEY ("job_position_id") REFERENCES "job_position" ("id"), CONSTRAINT "left_out_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED) STRICT
--;
CREATE UNIQUE INDEX "left_out_one_job_position_id" ON "left_out" ("job_position_id")
--;
CREATE INDEX "left_out_by_event_id" ON "left_out" ("event_id")
--;
CREATE TRIGGER left_out_never_deleted BEFORE DELETE ON "left_out" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER left_out_never_changed BEFORE UPDATE ON "left_out" BEGIN SELECT RAISE(ABORT, 'guard: history can not be changed'); END