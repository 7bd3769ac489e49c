CREATE TABLE "recall_notice" ("id" INTEGER NOT NULL PRIMARY KEY, "code" TEXT NOT NULL, "hold_id" INTEGER NOT NULL, "recipient_kind" TEXT NOT NULL, "recipient_id" INTEGER NOT NULL, "recipient" TEXT NOT NULL, "state" TEXT NOT NULL, "sent_how" TEXT NOT NULL, "sent_event_id" INTEGER, "answer" TEXT NOT NULL, "answered_event_id" INTEGER, "event_id" INTEGER NOT NULL, CONSTRAINT recall_notice_state CHECK (state IN ('to send', 'sent', 'answered')), CONSTRAINT recall_notice_recipient CHECK (recipient_kind IN ('airframe', 'van', 'person', 'owner')), CONSTRAINT "recall_notice_refers_hold_id" FOREIGN KEY ("hold_id") REFERENCES "hold" ("id"), CONSTRAINT "recall_notice_refers_recipient_id" FOREIGN KEY ("recipient_id") REFERENCES "place" ("id"), CONSTRAINT "recall_notice_refers_sent_event_id" FOREIGN KEY ("sent_event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED, CONSTRAINT "recall_notice_refers_answered_event_id" FOREIGN KEY ("answered_event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED, CONSTRAINT "recall_notice_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED) STRICT
--;
CREATE UNIQUE INDEX "recall_notice_one_code" ON "recall_notice" ("code")
--;
CREATE INDEX "recall_notice_by_hold_id" ON "recall_notice" ("hold_id")
--;
CREATE INDEX "recall_notice_by_sent_event_id" ON "recall_notice" ("sent_event_id")
--;
CREATE INDEX "recall_notice_by_answered_event_id" ON "recall_notice" ("answered_event_id")
--;
CREATE INDEX "recall_notice_by_event_id" ON "recall_notice" ("event_id")
--;
CREATE TABLE "recall_disposition" ("id" INTEGER NOT NULL PRIMARY KEY, "hold_id" INTEGER NOT NULL, "receipt_line_id" INTEGER NOT NULL, "piece_id" INTEGER, "account_class" TEXT NOT NULL, "around" TEXT NOT NULL, "quantity" INTEGER NOT NULL, "decision" TEXT NOT NULL, "reference" TEXT NOT NULL, "event_id" INTEGER NOT NULL, CONSTRAINT recall_disposition_quantity CHECK (quantity > 0), CONSTRAINT "recall_disposition_refers_hold_id" FOREIGN KEY ("hold_id") REFERENCES "hold" ("id"), CONSTRAINT "recall_disposition_refers_receipt_line_id" FOREIGN KEY ("receipt_line_id") REFERENCES "receipt_line" ("id"), CONSTRAINT "recall_disposition_refers_piece_id" FOREIGN KEY ("piece_id") REFERENCES "piece" ("id"), CONSTRAINT "recall_disposition_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED) STRICT
--;
CREATE INDEX "recall_disposition_by_hold_id" ON "recall_disposition" ("hold_id")
--;
CREATE INDEX "recall_disposition_by_event_id" ON "recall_disposition" ("event_id")
--;
CREATE TABLE "recall_closure" ("id" INTEGER NOT NULL PRIMARY KEY, "hold_id" INTEGER NOT NULL, "reference" TEXT NOT NULL, "event_id" INTEGER NOT NULL, CONSTRAINT "recall_closure_refers_hold_id" FOREIGN KEY ("hold_id") REFERENCES "hold" ("id"), CONSTRAINT "recall_closure_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED) STRICT
--;
CREATE UNIQUE INDEX "recall_closure_one_hold_id" ON "recall_closure" ("hold_id")
--;
CREATE INDEX "recall_closure_by_event_id" ON "recall_closure" ("event_id")
--;
CREATE TABLE "recall_drill" ("id" INTEGER NOT NULL PRIMARY KEY, "code" TEXT NOT NULL, "scope" TEXT NOT NULL, "scope_text" TEXT NOT NULL, "started_event_id" INTEGER NOT NULL, "ended_event_id" INTEGER, CONSTRAINT "recall_drill_refers_started_event_id" FOREIGN KEY ("started_event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED, CONSTRAINT "recall_drill_refers_ended_event_id" FOREIGN KEY ("ended_event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED) STRICT
--;
CREATE UNIQUE INDEX "recall_drill_one_code" ON "recall_drill" ("code")
--;
CREATE INDEX "recall_drill_by_started_event_id" ON "recall_drill" ("started_event_id")
--;
CREATE INDEX "recall_drill_by_ended_event_id" ON "recall_drill" ("ended_event_id")
--;
CREATE TABLE "recall_drill_line" ("id" INTEGER NOT NULL PRIMARY KEY, "recall_drill_id" INTEGER NOT NULL, "rank" INTEGER NOT NULL, "account_class" TEXT NOT NULL, "at_place" TEXT NOT NULL, "part_id" INTEGER NOT NULL, "unit" TEXT NOT NULL, "expected" INTEGER NOT NULL, "found" INTEGER, "reported_event_id" INTEGER, CONSTRAINT recall_drill_line_unit CHECK (unit IN ('pieces', 'volume_ul')), CONSTRAINT "recall_drill_line_refers_recall_drill_id" FOREIGN KEY ("recall_drill_id") REFERENCES "recall_drill" ("id"), CONSTRAINT "recall_drill_line_refers_part_id" FOREIGN KEY ("part_id") REFERENCES "part" ("id"), CONSTRAINT "recall_drill_line_refers_reported_event_id" FOREIGN KEY ("reported_event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED) STRICT
--;
CREATE UNIQUE INDEX "recall_drill_line_one_recall_drill_id_rank" ON "recall_drill_line" ("recall_drill_id", "rank")
--;
CREATE INDEX "recall_drill_line_by_reported_event_id" ON "recall_drill_line" ("reported_event_id")
--;
CREATE TABLE "entry" ("id" INTEGER NOT NULL PRIMARY KEY, "scanned" INTEGER NOT NULL, "typed" INTEGER NOT NULL, "typed_texts" TEXT NOT NULL, "event_id" INTEGER NOT NULL, CONSTRAINT "entry_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED) STRICT
--;
CREATE UNIQUE INDEX "entry_one_event_id" ON "entry" ("event_id")
--;
CREATE TABLE "shift_handover" ("id" INTEGER NOT NULL PRIMARY KEY, "code" TEXT NOT NULL, "since_at" TEXT NOT NULL, "text" TEXT NOT NULL, "event_id" INTEGER NOT NULL, CONSTRAINT "shift_handover_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED) STRICT
--;
CREATE UNIQUE INDEX "shift_handover_one_code" ON "shift_handover" ("code")
--;
CREATE INDEX "shift_handover_by_event_id" ON "shift_handover" ("event_id")
--;
CREATE TABLE "shift_handover_line" ("id" INTEGER NOT NULL PRIMARY KEY, "shift_handover_id" INTEGER NOT NULL, "rank" INTEGER NOT NULL, "section" TEXT NOT NULL, "subject" TEXT NOT NULL, "text" TEXT NOT NULL, CONSTRAINT "shift_handover_line_refers_shift_handover_id" FOREIGN KEY ("shift_handover_id") REFERENCES "shift_handover" ("id")) STRICT
--;
CREATE UNIQUE INDEX "shift_handover_line_one_shift_handover_id_rank" ON "shift_handover_line" ("shift_handover_id", "rank")
--;
CREATE TRIGGER recall_notice_never_deleted BEFORE DELETE ON "recall_notice" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER recall_disposition_never_deleted BEFORE DELETE ON "recall_disposition" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER recall_disposition_never_changed BEFORE UPDATE ON "recall_disposition" BEGIN SELECT RAISE(ABORT, 'guard: history can not be changed'); END
--;
CREATE TRIGGER recall_closure_never_deleted BEFORE DELETE ON "recall_closure" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER recall_closure_never_changed BEFORE UPDATE ON "recall_closure" BEGIN SELECT RAISE(ABORT, 'guard: history can not be changed'); END
--;
CREATE TRIGGER recall_drill_never_deleted BEFORE DELETE ON "recall_drill" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER recall_drill_line_never_deleted BEFORE DELETE ON "recall_drill_line" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER entry_never_deleted BEFORE DELETE ON "entry" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER entry_never_changed BEFORE UPDATE ON "entry" BEGIN SELECT RAISE(ABORT, 'guard: history can not be changed'); END
--;
CREATE TRIGGER shift_handover_never_deleted BEFORE DELETE ON "shift_handover" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER shift_handover_never_changed BEFORE UPDATE ON "shift_handover" BEGIN SELECT RAISE(ABORT, 'guard: history can not be changed'); END
--;
CREATE TRIGGER shift_handover_line_never_deleted BEFORE DELETE ON "shift_handover_line" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER shift_handover_line_never_changed BEFORE UPDATE ON "shift_handover_line" BEGIN SELECT RAISE(ABORT, 'guard: history can not be changed'); END
