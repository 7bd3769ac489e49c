CREATE TABLE "kit_list_end" ("id" INTEGER NOT NULL PRIMARY KEY, "kit_list_line_id" INTEGER NOT NULL, "event_id" INTEGER NOT NULL, "again_event_id" INTEGER, CONSTRAINT "kit_list_end_refers_kit_list_line_id" FOREIGN KEY ("kit_list_line_id") REFERENCES "kit_list_line" ("id"), CONSTRAINT "kit_list_end_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED, CONSTRAINT "kit_list_end_refers_again_event_id" FOREIGN KEY ("again_event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED) STRICT
--;
CREATE INDEX "kit_list_end_by_kit_list_line_id" ON "kit_list_end" ("kit_list_line_id")
--;
CREATE INDEX "kit_list_end_by_event_id" ON "kit_list_end" ("event_id")
--;
CREATE INDEX "kit_list_end_by_again_event_id" ON "kit_list_end" ("again_event_id")
--;
CREATE TRIGGER kit_list_end_never_deleted BEFORE DELETE ON "kit_list_end" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END