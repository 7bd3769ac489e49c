CREATE TABLE "recall_notice" ("id" BIGINT NOT NULL PRIMARY KEY, "code" TEXT COLLATE "C" NOT NULL, "hold_id" BIGINT NOT NULL, "recipient_kind" TEXT COLLATE "C" NOT NULL, "recipient_id" BIGINT NOT NULL, "recipient" TEXT COLLATE "C" NOT NULL, "state" TEXT COLLATE "C" NOT NULL, "sent_how" TEXT COLLATE "C" NOT NULL, "sent_event_id" BIGINT, "answer" TEXT COLLATE "C" NOT NULL, "answered_event_id" BIGINT, "event_id" BIGINT NOT NULL, CONSTRAINT recall_notice_state CHECK (state IN ('to send', 'sent', 'answered')), CONSTRAINT recall_notice_recipient CHECK (recipient_kind IN ('airframe', 'van', 'person', 'owner')))
--;
CREATE UNIQUE INDEX "recall_notice_one_code" ON "recall_notice" ("code")
--;
CREATE INDEX "recall_notice_by_hold_id" ON "recall_notice" ("hold_id")
--;
CREATE TABLE "recall_disposition" ("id" BIGINT NOT NULL PRIMARY KEY, "hold_id" BIGINT NOT NULL, "receipt_line_id" BIGINT NOT NULL, "piece_id" BIGINT, "account_class" TEXT COLLATE "C" NOT NULL, "around" TEXT COLLATE "C" NOT NULL, "quantity" BIGINT NOT NULL, "decision" TEXT COLLATE "C" NOT NULL, "reference" TEXT COLLATE "C" NOT NULL, "event_id" BIGINT NOT NULL, CONSTRAINT recall_disposition_quantity CHECK (quantity > 0))
--;
CREATE INDEX "recall_disposition_by_hold_id" ON "recall_disposition" ("hold_id")
--;
CREATE TABLE "recall_closure" ("id" BIGINT NOT NULL PRIMARY KEY, "hold_id" BIGINT NOT NULL, "reference" TEXT COLLATE "C" NOT NULL, "event_id" BIGINT NOT NULL)
--;
CREATE UNIQUE INDEX "recall_closure_one_hold_id" ON "recall_closure" ("hold_id")
--;
CREATE TABLE "recall_drill" ("id" BIGINT NOT NULL PRIMARY KEY, "code" TEXT COLLATE "C" NOT NULL, "scope" TEXT COLLATE "C" NOT NULL, "scope_text" TEXT COLLATE "C" NOT NULL, "started_event_id" BIGINT NOT NULL, "ended_event_id" BIGINT)
--;
CREATE UNIQUE INDEX "recall_drill_one_code" ON "recall_drill" ("code")
--;
CREATE TABLE "recall_drill_line" ("id" BIGINT NOT NULL PRIMARY KEY, "recall_drill_id" BIGINT NOT NULL, "rank" BIGINT NOT NULL, "account_class" TEXT COLLATE "C" NOT NULL, "at_place" TEXT COLLATE "C" NOT NULL, "part_id" BIGINT NOT NULL, "unit" TEXT COLLATE "C" NOT NULL, "expected" BIGINT NOT NULL, "found" BIGINT, "reported_event_id" BIGINT, CONSTRAINT recall_drill_line_unit CHECK (unit IN ('pieces', 'volume_ul')))
--;
CREATE UNIQUE INDEX "recall_drill_line_one_recall_drill_id_rank" ON "recall_drill_line" ("recall_drill_id", "rank")
--;
CREATE TABLE "entry" ("id" BIGINT NOT NULL PRIMARY KEY, "scanned" BIGINT NOT NULL, "typed" BIGINT NOT NULL, "typed_texts" TEXT COLLATE "C" NOT NULL, "event_id" BIGINT NOT NULL)
--;
CREATE UNIQUE INDEX "entry_one_event_id" ON "entry" ("event_id")
--;
CREATE TABLE "shift_handover" ("id" BIGINT NOT NULL PRIMARY KEY, "code" TEXT COLLATE "C" NOT NULL, "since_at" TEXT COLLATE "C" NOT NULL, "text" TEXT COLLATE "C" NOT NULL, "event_id" BIGINT NOT NULL)
--;
CREATE UNIQUE INDEX "shift_handover_one_code" ON "shift_handover" ("code")
--;
CREATE TABLE "shift_handover_line" ("id" BIGINT NOT NULL PRIMARY KEY, "shift_handover_id" BIGINT NOT NULL, "rank" BIGINT NOT NULL, "section" TEXT COLLATE "C" NOT NULL, "subject" TEXT COLLATE "C" NOT NULL, "text" TEXT COLLATE "C" NOT NULL)
--;
CREATE UNIQUE INDEX "shift_handover_line_one_shift_handover_id_rank" ON "shift_handover_line" ("shift_handover_id", "rank")
--;
ALTER TABLE "recall_notice" ADD CONSTRAINT "recall_notice_refers_hold_id" FOREIGN KEY ("hold_id") REFERENCES "hold" ("id")
--;
ALTER TABLE "recall_notice" ADD CONSTRAINT "recall_notice_refers_recipient_id" FOREIGN KEY ("recipient_id") REFERENCES "place" ("id")
--;
ALTER TABLE "recall_notice" ADD CONSTRAINT "recall_notice_refers_sent_event_id" FOREIGN KEY ("sent_event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED
--;
ALTER TABLE "recall_notice" ADD CONSTRAINT "recall_notice_refers_answered_event_id" FOREIGN KEY ("answered_event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED
--;
ALTER TABLE "recall_notice" ADD CONSTRAINT "recall_notice_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED
--;
ALTER TABLE "recall_disposition" ADD CONSTRAINT "recall_disposition_refers_hold_id" FOREIGN KEY ("hold_id") REFERENCES "hold" ("id")
--;
ALTER TABLE "recall_disposition" ADD CONSTRAINT "recall_disposition_refers_receipt_line_id" FOREIGN KEY ("receipt_line_id") REFERENCES "receipt_line" ("id")
--;
ALTER TABLE "recall_disposition" ADD CONSTRAINT "recall_disposition_refers_piece_id" FOREIGN KEY ("piece_id") REFERENCES "piece" ("id")
--;
ALTER TABLE "recall_disposition" ADD CONSTRAINT "recall_disposition_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED
--;
ALTER TABLE "recall_closure" ADD CONSTRAINT "recall_closure_refers_hold_id" FOREIGN KEY ("hold_id") REFERENCES "hold" ("id")
--;
ALTER TABLE "recall_closure" ADD CONSTRAINT "recall_closure_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED
--;
ALTER TABLE "recall_drill" ADD CONSTRAINT "recall_drill_refers_started_event_id" FOREIGN KEY ("started_event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED
--;
ALTER TABLE "recall_drill" ADD CONSTRAINT "recall_drill_refers_ended_event_id" FOREIGN KEY ("ended_event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED
--;
ALTER TABLE "recall_drill_line" ADD CONSTRAINT "recall_drill_line_refers_recall_drill_id" FOREIGN KEY ("recall_drill_id") REFERENCES "recall_drill" ("id")
--;
ALTER TABLE "recall_drill_line" ADD CONSTRAINT "recall_drill_line_refers_part_id" FOREIGN KEY ("part_id") REFERENCES "part" ("id")
--;
ALTER TABLE "recall_drill_line" ADD CONSTRAINT "recall_drill_line_refers_reported_event_id" FOREIGN KEY ("reported_event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED
--;
ALTER TABLE "entry" ADD CONSTRAINT "entry_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED
--;
ALTER TABLE "shift_handover" ADD CONSTRAINT "shift_handover_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED
--;
ALTER TABLE "shift_handover_line" ADD CONSTRAINT "shift_handover_line_refers_shift_handover_id" FOREIGN KEY ("shift_handover_id") REFERENCES "shift_handover" ("id")
--;
CREATE TRIGGER recall_notice_never_deleted BEFORE DELETE ON "recall_notice" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER recall_notice_never_emptied BEFORE TRUNCATE ON "recall_notice" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER recall_disposition_never_deleted BEFORE DELETE ON "recall_disposition" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER recall_disposition_never_emptied BEFORE TRUNCATE ON "recall_disposition" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER recall_disposition_never_changed BEFORE UPDATE ON "recall_disposition" FOR EACH ROW EXECUTE FUNCTION never_changed()
--;
CREATE TRIGGER recall_closure_never_deleted BEFORE DELETE ON "recall_closure" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER recall_closure_never_emptied BEFORE TRUNCATE ON "recall_closure" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER recall_closure_never_changed BEFORE UPDATE ON "recall_closure" FOR EACH ROW EXECUTE FUNCTION never_changed()
--;
CREATE TRIGGER recall_drill_never_deleted BEFORE DELETE ON "recall_drill" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER recall_drill_never_emptied BEFORE TRUNCATE ON "recall_drill" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER recall_drill_line_never_deleted BEFORE DELETE ON "recall_drill_line" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER recall_drill_line_never_emptied BEFORE TRUNCATE ON "recall_drill_line" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER entry_never_deleted BEFORE DELETE ON "entry" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER entry_never_emptied BEFORE TRUNCATE ON "entry" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER entry_never_changed BEFORE UPDATE ON "entry" FOR EACH ROW EXECUTE FUNCTION never_changed()
--;
CREATE TRIGGER shift_handover_never_deleted BEFORE DELETE ON "shift_handover" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER shift_handover_never_emptied BEFORE TRUNCATE ON "shift_handover" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER shift_handover_never_changed BEFORE UPDATE ON "shift_handover" FOR EACH ROW EXECUTE FUNCTION never_changed()
--;
CREATE TRIGGER shift_handover_line_never_deleted BEFORE DELETE ON "shift_handover_line" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER shift_handover_line_never_emptied BEFORE TRUNCATE ON "shift_handover_line" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER shift_handover_line_never_changed BEFORE UPDATE ON "shift_handover_line" FOR EACH ROW EXECUTE FUNCTION never_changed()
