CREATE TABLE "event" ("id" INTEGER NOT NULL PRIMARY KEY, "act" TEXT NOT NULL, "at" TEXT NOT NULL, "offset_minutes" INTEGER NOT NULL, "by_id" INTEGER NOT NULL, "second_id" INTEGER, "reason" TEXT NOT NULL, "key" TEXT NOT NULL, "statements" TEXT NOT NULL, "previous_hash" TEXT NOT NULL, "hash" TEXT NOT NULL, CONSTRAINT event_hash_is_sha256 CHECK (length(hash) = 64 AND length(previous_hash) = 64), CONSTRAINT "event_refers_by_id" FOREIGN KEY ("by_id") REFERENCES "person" ("id"), CONSTRAINT "event_refers_second_id" FOREIGN KEY ("second_id") REFERENCES "person" ("id")) STRICT
--;
CREATE UNIQUE INDEX "event_one_key" ON "event" ("key")
--;
CREATE INDEX "event_by_at" ON "event" ("at")
--;
CREATE TABLE "site" ("id" INTEGER NOT NULL PRIMARY KEY, "name" TEXT NOT NULL, "time_zone" TEXT NOT NULL) STRICT
--;
CREATE UNIQUE INDEX "site_one_name" ON "site" ("name")
--;
CREATE TABLE "person" ("id" INTEGER NOT NULL PRIMARY KEY, "code" TEXT NOT NULL, "name" TEXT NOT NULL, "active" INTEGER NOT NULL, "is_script" INTEGER NOT NULL, "same_human_as_id" INTEGER, "event_id" INTEGER NOT NULL, CONSTRAINT "person_refers_same_human_as_id" FOREIGN KEY ("same_human_as_id") REFERENCES "person" ("id"), CONSTRAINT "person_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED) STRICT
--;
CREATE UNIQUE INDEX "person_one_code" ON "person" ("code")
--;
CREATE UNIQUE INDEX "person_one_name" ON "person" ("name")
--;
CREATE INDEX "person_by_event_id" ON "person" ("event_id")
--;
CREATE TABLE "person_role" ("id" INTEGER NOT NULL PRIMARY KEY, "person_id" INTEGER NOT NULL, "role" TEXT NOT NULL, "active" INTEGER NOT NULL, CONSTRAINT role_is_known CHECK (role IN ('clerk', 'technician', 'inspector', 'manager', 'auditor')), CONSTRAINT "person_role_refers_person_id" FOREIGN KEY ("person_id") REFERENCES "person" ("id")) STRICT
--;
CREATE UNIQUE INDEX "person_role_one_person_id_role" ON "person_role" ("person_id", "role")
--;
CREATE TABLE "place" ("id" INTEGER NOT NULL PRIMARY KEY, "code" TEXT NOT NULL, "kind" TEXT NOT NULL, "name" TEXT NOT NULL, "site_id" INTEGER, "person_id" INTEGER, "closed" INTEGER NOT NULL, "active" INTEGER NOT NULL, CONSTRAINT place_kind_is_known CHECK (kind IN ('bin', 'goods-in', 'hold cage', 'bench', 'van', 'hands', 'job', 'removed-parts cage', 'rotor set', 'kit', 'position', 'airframe', 'apron', 'supplier', 'returned to supplier', 'consumed', 'scrapped', 'sold', 'lost', 'unaccounted')), CONSTRAINT place_closed_is_flag CHECK (closed IN (0, 1)), CONSTRAINT "place_refers_site_id" FOREIGN KEY ("site_id") REFERENCES "site" ("id"), CONSTRAINT "place_refers_person_id" FOREIGN KEY ("person_id") REFERENCES "person" ("id")) STRICT
--;
CREATE UNIQUE INDEX "place_one_code" ON "place" ("code")
--;
CREATE UNIQUE INDEX "place_one_kind_name" ON "place" ("kind", "name")
--;
CREATE INDEX "place_by_name" ON "place" ("name")
--;
CREATE TABLE "company" ("id" INTEGER NOT NULL PRIMARY KEY, "name" TEXT NOT NULL, "is_maker" INTEGER NOT NULL, "is_supplier" INTEGER NOT NULL, "lead_time_days" INTEGER) STRICT
--;
CREATE UNIQUE INDEX "company_one_name" ON "company" ("name")
--;
CREATE TABLE "part" ("id" INTEGER NOT NULL PRIMARY KEY, "number" TEXT NOT NULL, "maker_id" INTEGER NOT NULL, "name" TEXT NOT NULL, "kind" TEXT NOT NULL, "tracking" TEXT NOT NULL, "unit" TEXT NOT NULL, "paper_class" TEXT NOT NULL, "revision" INTEGER NOT NULL, "mark_revision" INTEGER NOT NULL, "pack_quantity" INTEGER NOT NULL, "sense" TEXT, "thread_hand" TEXT, "blades_per_rotor" INTEGER, "hub_part_id" INTEGER, "hub_in_set" INTEGER NOT NULL, "tolerance_g_um" INTEGER, "tolerance_source" TEXT NOT NULL, "pairing_suffices" INTEGER NOT NULL, "pairing_source" TEXT NOT NULL, "mixes_lots" INTEGER NOT NULL, "trim_allowed" INTEGER NOT NULL, "thread" TEXT NOT NULL, "length_um" INTEGER, "head" TEXT NOT NULL, "drive" TEXT NOT NULL, "property_class" TEXT NOT NULL, "single_use" INTEGER NOT NULL, "single_dose" INTEGER NOT NULL, "expiry_needed" INTEGER NOT NULL, "shelf_life_days" INTEGER, "opened_life_days" INTEGER, "life_minutes" INTEGER, "life_flights" INTEGER, "life_days" INTEGER, "superseded_by_id" INTEGER, "superseded_how" TEXT NOT NULL, "source" TEXT NOT NULL, CONSTRAINT part_kind_is_known CHECK (kind IN ('blade', 'hub', 'fastener', 'consumable', 'other')), CONSTRAINT part_unit_is_known CHECK (unit IN ('pieces', 'volume_ul')), CONSTRAINT part_tracking_is_known CHECK (tracking IN ('lot', 'serial')), CONSTRAINT part_blade_has_sense CHECK (kind <> 'blade' OR sense IN ('CW', 'CCW')), CONSTRAINT part_supersession_is_known CHECK (superseded_how IN ('', 'use up', 'safety')), CONSTRAINT "part_refers_maker_id" FOREIGN KEY ("maker_id") REFERENCES "company" ("id"), CONSTRAINT "part_refers_hub_part_id" FOREIGN KEY ("hub_part_id") REFERENCES "part" ("id"), CONSTRAINT "part_refers_superseded_by_id" FOREIGN KEY ("superseded_by_id") REFERENCES "part" ("id")) STRICT
--;
CREATE UNIQUE INDEX "part_one_maker_id_number" ON "part" ("maker_id", "number")
--;
CREATE INDEX "part_by_number" ON "part" ("number")
--;
CREATE TABLE "part_mark" ("id" INTEGER NOT NULL PRIMARY KEY, "part_id" INTEGER NOT NULL, "revision" INTEGER NOT NULL, "mark" TEXT NOT NULL, "sense" TEXT NOT NULL, CONSTRAINT mark_has_sense CHECK (sense IN ('CW', 'CCW')), CONSTRAINT "part_mark_refers_part_id" FOREIGN KEY ("part_id") REFERENCES "part" ("id")) STRICT
--;
CREATE UNIQUE INDEX "part_mark_one_part_id_revision_mark" ON "part_mark" ("part_id", "revision", "mark")
--;
CREATE TABLE "paper_kind" ("id" INTEGER NOT NULL PRIMARY KEY, "paper_class" TEXT NOT NULL, "kind" TEXT NOT NULL, "active" INTEGER NOT NULL) STRICT
--;
CREATE UNIQUE INDEX "paper_kind_one_paper_class_kind" ON "paper_kind" ("paper_class", "kind")
--;
CREATE TABLE "airframe_type" ("id" INTEGER NOT NULL PRIMARY KEY, "name" TEXT NOT NULL) STRICT
--;
CREATE UNIQUE INDEX "airframe_type_one_name" ON "airframe_type" ("name")
--;
CREATE TABLE "type_revision" ("id" INTEGER NOT NULL PRIMARY KEY, "airframe_type_id" INTEGER NOT NULL, "name" TEXT NOT NULL, "settings_revision" INTEGER NOT NULL, "retorque_minutes" INTEGER, "source" TEXT NOT NULL, CONSTRAINT "type_revision_refers_airframe_type_id" FOREIGN KEY ("airframe_type_id") REFERENCES "airframe_type" ("id")) STRICT
--;
CREATE UNIQUE INDEX "type_revision_one_airframe_type_id_name" ON "type_revision" ("airframe_type_id", "name")
--;
CREATE TABLE "hub_fixing" ("id" INTEGER NOT NULL PRIMARY KEY, "type_revision_id" INTEGER NOT NULL, "name" TEXT NOT NULL, "screw_part_id" INTEGER NOT NULL, "screws_per_hub" INTEGER NOT NULL, "washer_part_id" INTEGER, "washers_per_hub" INTEGER NOT NULL, "locker_part_id" INTEGER, "locker_ul_per_screw" INTEGER NOT NULL, "torque_method" TEXT NOT NULL, "torque_mnm" INTEGER, "torque_tolerance_mnm" INTEGER, "torque_text" TEXT NOT NULL, "torque_condition" TEXT NOT NULL, "torque_source" TEXT NOT NULL, "stack_um" INTEGER, "engagement_min_um" INTEGER, "engagement_max_um" INTEGER, CONSTRAINT fixing_method_is_known CHECK (torque_method IN ('torque', 'angle', 'snug')), CONSTRAINT fixing_has_torque CHECK (torque_method <> 'torque' OR torque_mnm > 0), CONSTRAINT fixing_counts CHECK (screws_per_hub >= 0 AND washers_per_hub >= 0 AND locker_ul_per_screw >= 0), CONSTRAINT "hub_fixing_refers_type_revision_id" FOREIGN KEY ("type_revision_id") REFERENCES "type_revision" ("id"), CONSTRAINT "hub_fixing_refers_screw_part_id" FOREIGN KEY ("screw_part_id") REFERENCES "part" ("id"), CONSTRAINT "hub_fixing_refers_washer_part_id" FOREIGN KEY ("washer_part_id") REFERENCES "part" ("id"), CONSTRAINT "hub_fixing_refers_locker_part_id" FOREIGN KEY ("locker_part_id") REFERENCES "part" ("id")) STRICT
--;
CREATE UNIQUE INDEX "hub_fixing_one_type_revision_id_name" ON "hub_fixing" ("type_revision_id", "name")
--;
CREATE TABLE "type_position" ("id" INTEGER NOT NULL PRIMARY KEY, "type_revision_id" INTEGER NOT NULL, "rank" INTEGER NOT NULL, "name" TEXT NOT NULL, "alias" TEXT NOT NULL, "arm" TEXT NOT NULL, "level" TEXT NOT NULL, "drive" TEXT NOT NULL, "sense" TEXT NOT NULL, "angle_mdeg" INTEGER NOT NULL, "radius_um" INTEGER NOT NULL, "hub_fixing_id" INTEGER NOT NULL, CONSTRAINT type_position_sense CHECK (sense IN ('CW', 'CCW')), CONSTRAINT type_position_level CHECK (level IN ('single', 'upper', 'lower')), CONSTRAINT type_position_drive CHECK (drive IN ('tractor', 'pusher')), CONSTRAINT "type_position_refers_type_revision_id" FOREIGN KEY ("type_revision_id") REFERENCES "type_revision" ("id"), CONSTRAINT "type_position_refers_hub_fixing_id" FOREIGN KEY ("hub_fixing_id") REFERENCES "hub_fixing" ("id")) STRICT
--;
CREATE UNIQUE INDEX "type_position_one_type_revision_id_name" ON "type_position" ("type_revision_id", "name")
--;
CREATE TABLE "approved_part" ("id" INTEGER NOT NULL PRIMARY KEY, "type_position_id" INTEGER NOT NULL, "part_id" INTEGER NOT NULL, "active" INTEGER NOT NULL, CONSTRAINT "approved_part_refers_type_position_id" FOREIGN KEY ("type_position_id") REFERENCES "type_position" ("id"), CONSTRAINT "approved_part_refers_part_id" FOREIGN KEY ("part_id") REFERENCES "part" ("id")) STRICT
--;
CREATE UNIQUE INDEX "approved_part_one_type_position_id_part_id" ON "approved_part" ("type_position_id", "part_id")
--;
CREATE TABLE "position_group" ("id" INTEGER NOT NULL PRIMARY KEY, "type_revision_id" INTEGER NOT NULL, "name" TEXT NOT NULL, "type_position_id" INTEGER NOT NULL, CONSTRAINT "position_group_refers_type_revision_id" FOREIGN KEY ("type_revision_id") REFERENCES "type_revision" ("id"), CONSTRAINT "position_group_refers_type_position_id" FOREIGN KEY ("type_position_id") REFERENCES "type_position" ("id")) STRICT
--;
CREATE UNIQUE INDEX "position_group_one_type_revision_id_name_type_position_id" ON "position_group" ("type_revision_id", "name", "type_position_id")
--;
CREATE TABLE "kit_list_line" ("id" INTEGER NOT NULL PRIMARY KEY, "type_revision_id" INTEGER NOT NULL, "part_id" INTEGER NOT NULL, "quantity" INTEGER NOT NULL, "per" TEXT NOT NULL, CONSTRAINT kit_list_per CHECK (per IN ('kit', 'hub')), CONSTRAINT kit_list_quantity CHECK (quantity > 0), CONSTRAINT "kit_list_line_refers_type_revision_id" FOREIGN KEY ("type_revision_id") REFERENCES "type_revision" ("id"), CONSTRAINT "kit_list_line_refers_part_id" FOREIGN KEY ("part_id") REFERENCES "part" ("id")) STRICT
--;
CREATE UNIQUE INDEX "kit_list_line_one_type_revision_id_part_id_per" ON "kit_list_line" ("type_revision_id", "part_id", "per")
--;
CREATE TABLE "airframe" ("id" INTEGER NOT NULL PRIMARY KEY, "code" TEXT NOT NULL, "tail" TEXT NOT NULL, "type_revision_id" INTEGER NOT NULL, "place_id" INTEGER NOT NULL, "sense_map_id" INTEGER, "minutes" INTEGER, "flights" INTEGER, "state" TEXT NOT NULL, "owner_id" INTEGER, CONSTRAINT airframe_state CHECK (state IN ('active', 'sold', 'written off')), CONSTRAINT "airframe_refers_type_revision_id" FOREIGN KEY ("type_revision_id") REFERENCES "type_revision" ("id"), CONSTRAINT "airframe_refers_place_id" FOREIGN KEY ("place_id") REFERENCES "place" ("id"), CONSTRAINT "airframe_refers_sense_map_id" FOREIGN KEY ("sense_map_id") REFERENCES "sense_map" ("id"), CONSTRAINT "airframe_refers_owner_id" FOREIGN KEY ("owner_id") REFERENCES "company" ("id")) STRICT
--;
CREATE UNIQUE INDEX "airframe_one_code" ON "airframe" ("code")
--;
CREATE UNIQUE INDEX "airframe_one_tail" ON "airframe" ("tail")
--;
CREATE TABLE "position" ("id" INTEGER NOT NULL PRIMARY KEY, "code" TEXT NOT NULL, "airframe_id" INTEGER NOT NULL, "type_position_id" INTEGER NOT NULL, "place_id" INTEGER NOT NULL, "name" TEXT NOT NULL, "active" INTEGER NOT NULL, CONSTRAINT "position_refers_airframe_id" FOREIGN KEY ("airframe_id") REFERENCES "airframe" ("id"), CONSTRAINT "position_refers_type_position_id" FOREIGN KEY ("type_position_id") REFERENCES "type_position" ("id"), CONSTRAINT "position_refers_place_id" FOREIGN KEY ("place_id") REFERENCES "place" ("id")) STRICT
--;
CREATE UNIQUE INDEX "position_one_code" ON "position" ("code")
--;
CREATE UNIQUE INDEX "position_one_airframe_id_name" ON "position" ("airframe_id", "name")
--;
CREATE TABLE "sense_map" ("id" INTEGER NOT NULL PRIMARY KEY, "airframe_id" INTEGER NOT NULL, "revision" INTEGER NOT NULL, "source" TEXT NOT NULL, "verified_event_id" INTEGER, "cleared_event_id" INTEGER, "event_id" INTEGER NOT NULL, CONSTRAINT "sense_map_refers_airframe_id" FOREIGN KEY ("airframe_id") REFERENCES "airframe" ("id"), CONSTRAINT "sense_map_refers_verified_event_id" FOREIGN KEY ("verified_event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED, CONSTRAINT "sense_map_refers_cleared_event_id" FOREIGN KEY ("cleared_event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED, CONSTRAINT "sense_map_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED) STRICT
--;
CREATE UNIQUE INDEX "sense_map_one_airframe_id_revision" ON "sense_map" ("airframe_id", "revision")
--;
CREATE INDEX "sense_map_by_verified_event_id" ON "sense_map" ("verified_event_id")
--;
CREATE INDEX "sense_map_by_cleared_event_id" ON "sense_map" ("cleared_event_id")
--;
CREATE INDEX "sense_map_by_event_id" ON "sense_map" ("event_id")
--;
CREATE TABLE "sense_map_line" ("id" INTEGER NOT NULL PRIMARY KEY, "sense_map_id" INTEGER NOT NULL, "position_id" INTEGER NOT NULL, "sense" TEXT NOT NULL, CONSTRAINT sense_map_sense CHECK (sense IN ('CW', 'CCW')), CONSTRAINT "sense_map_line_refers_sense_map_id" FOREIGN KEY ("sense_map_id") REFERENCES "sense_map" ("id"), CONSTRAINT "sense_map_line_refers_position_id" FOREIGN KEY ("position_id") REFERENCES "position" ("id")) STRICT
--;
CREATE UNIQUE INDEX "sense_map_line_one_sense_map_id_position_id" ON "sense_map_line" ("sense_map_id", "position_id")
--;
CREATE TABLE "usage_reading" ("id" INTEGER NOT NULL PRIMARY KEY, "airframe_id" INTEGER NOT NULL, "minutes" INTEGER NOT NULL, "flights" INTEGER NOT NULL, "source" TEXT NOT NULL, "event_id" INTEGER NOT NULL, CONSTRAINT "usage_reading_refers_airframe_id" FOREIGN KEY ("airframe_id") REFERENCES "airframe" ("id"), CONSTRAINT "usage_reading_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED) STRICT
--;
CREATE INDEX "usage_reading_by_airframe_id" ON "usage_reading" ("airframe_id")
--;
CREATE INDEX "usage_reading_by_event_id" ON "usage_reading" ("event_id")
--;
CREATE TABLE "tool" ("id" INTEGER NOT NULL PRIMARY KEY, "code" TEXT NOT NULL, "name" TEXT NOT NULL, "kind" TEXT NOT NULL, "min_mnm" INTEGER, "max_mnm" INTEGER, "resolution_ug" INTEGER, "uncertainty_ug" INTEGER, "repeatability_ug" INTEGER, "ruler_um" INTEGER, "calibrated_until_on" TEXT, "active" INTEGER NOT NULL, CONSTRAINT tool_kind CHECK (kind IN ('torque', 'scale'))) STRICT
--;
CREATE UNIQUE INDEX "tool_one_code" ON "tool" ("code")
--;
CREATE UNIQUE INDEX "tool_one_name" ON "tool" ("name")
--;
CREATE TABLE "lot" ("id" INTEGER NOT NULL PRIMARY KEY, "code" TEXT NOT NULL, "part_id" INTEGER NOT NULL, "maker_id" INTEGER NOT NULL, "supplier_id" INTEGER NOT NULL, "lot_code" TEXT, CONSTRAINT "lot_refers_part_id" FOREIGN KEY ("part_id") REFERENCES "part" ("id"), CONSTRAINT "lot_refers_maker_id" FOREIGN KEY ("maker_id") REFERENCES "company" ("id"), CONSTRAINT "lot_refers_supplier_id" FOREIGN KEY ("supplier_id") REFERENCES "company" ("id")) STRICT
--;
CREATE UNIQUE INDEX "lot_one_code" ON "lot" ("code")
--;
CREATE UNIQUE INDEX "lot_one_part_id_maker_id_supplier_id_lot_code" ON "lot" ("part_id", "maker_id", "supplier_id", "lot_code") WHERE lot_code IS NOT NULL
--;
CREATE INDEX "lot_by_lot_code" ON "lot" ("lot_code")
--;
CREATE INDEX "lot_by_part_id" ON "lot" ("part_id")
--;
CREATE TABLE "delivery" ("id" INTEGER NOT NULL PRIMARY KEY, "code" TEXT NOT NULL, "supplier_id" INTEGER NOT NULL, "reference" TEXT NOT NULL, "is_opening" INTEGER NOT NULL, "event_id" INTEGER NOT NULL, CONSTRAINT "delivery_refers_supplier_id" FOREIGN KEY ("supplier_id") REFERENCES "company" ("id"), CONSTRAINT "delivery_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED) STRICT
--;
CREATE UNIQUE INDEX "delivery_one_code" ON "delivery" ("code")
--;
CREATE INDEX "delivery_by_event_id" ON "delivery" ("event_id")
--;
CREATE TABLE "receipt_line" ("id" INTEGER NOT NULL PRIMARY KEY, "code" TEXT NOT NULL, "delivery_id" INTEGER NOT NULL, "lot_id" INTEGER NOT NULL, "part_id" INTEGER NOT NULL, "quantity" INTEGER NOT NULL, "unit" TEXT NOT NULL, "expiry_kind" TEXT NOT NULL, "expires_on" TEXT, "made_on" TEXT, "history_known" INTEGER NOT NULL, "raw_scan" TEXT NOT NULL, "event_id" INTEGER NOT NULL, CONSTRAINT receipt_quantity CHECK (quantity > 0), CONSTRAINT receipt_unit CHECK (unit IN ('pieces', 'volume_ul')), CONSTRAINT receipt_expiry CHECK ((expiry_kind = 'date' AND expires_on IS NOT NULL) OR (expiry_kind IN ('none', 'unknown') AND expires_on IS NULL)), CONSTRAINT "receipt_line_refers_delivery_id" FOREIGN KEY ("delivery_id") REFERENCES "delivery" ("id"), CONSTRAINT "receipt_line_refers_lot_id" FOREIGN KEY ("lot_id") REFERENCES "lot" ("id"), CONSTRAINT "receipt_line_refers_part_id" FOREIGN KEY ("part_id") REFERENCES "part" ("id"), CONSTRAINT "receipt_line_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED) STRICT
--;
CREATE UNIQUE INDEX "receipt_line_one_code" ON "receipt_line" ("code")
--;
CREATE INDEX "receipt_line_by_lot_id" ON "receipt_line" ("lot_id")
--;
CREATE INDEX "receipt_line_by_part_id" ON "receipt_line" ("part_id")
--;
CREATE INDEX "receipt_line_by_event_id" ON "receipt_line" ("event_id")
--;
CREATE TABLE "paper" ("id" INTEGER NOT NULL PRIMARY KEY, "receipt_line_id" INTEGER NOT NULL, "kind" TEXT NOT NULL, "number" TEXT NOT NULL, "issuer" TEXT NOT NULL, "event_id" INTEGER NOT NULL, CONSTRAINT "paper_refers_receipt_line_id" FOREIGN KEY ("receipt_line_id") REFERENCES "receipt_line" ("id"), CONSTRAINT "paper_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED) STRICT
--;
CREATE INDEX "paper_by_receipt_line_id" ON "paper" ("receipt_line_id")
--;
CREATE INDEX "paper_by_event_id" ON "paper" ("event_id")
--;
CREATE TABLE "piece" ("id" INTEGER NOT NULL PRIMARY KEY, "code" TEXT NOT NULL, "receipt_line_id" INTEGER NOT NULL, "part_id" INTEGER NOT NULL, "maker_id" INTEGER NOT NULL, "serial" TEXT, "pair_code" TEXT NOT NULL, "mark" TEXT NOT NULL, "sense" TEXT, "mass_ug" INTEGER, "moment_g_um" INTEGER, "weighed_with_id" INTEGER, "opened_on" TEXT, "expires_on" TEXT, "note" TEXT NOT NULL, "event_id" INTEGER NOT NULL, CONSTRAINT "piece_refers_receipt_line_id" FOREIGN KEY ("receipt_line_id") REFERENCES "receipt_line" ("id"), CONSTRAINT "piece_refers_part_id" FOREIGN KEY ("part_id") REFERENCES "part" ("id"), CONSTRAINT "piece_refers_maker_id" FOREIGN KEY ("maker_id") REFERENCES "company" ("id"), CONSTRAINT "piece_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED) STRICT
--;
CREATE UNIQUE INDEX "piece_one_code" ON "piece" ("code")
--;
CREATE UNIQUE INDEX "piece_one_maker_id_part_id_serial" ON "piece" ("maker_id", "part_id", "serial") WHERE serial IS NOT NULL
--;
CREATE INDEX "piece_by_receipt_line_id" ON "piece" ("receipt_line_id")
--;
CREATE INDEX "piece_by_serial" ON "piece" ("serial")
--;
CREATE INDEX "piece_by_event_id" ON "piece" ("event_id")
--;
CREATE TABLE "inspection" ("id" INTEGER NOT NULL PRIMARY KEY, "receipt_line_id" INTEGER, "piece_id" INTEGER, "rotor_set_id" INTEGER, "quantity" INTEGER NOT NULL, "result" TEXT NOT NULL, "mark" TEXT NOT NULL, "sense" TEXT, "note" TEXT NOT NULL, "event_id" INTEGER NOT NULL, CONSTRAINT inspection_result CHECK (result IN ('accepted', 'held', 'rejected')), CONSTRAINT "inspection_refers_receipt_line_id" FOREIGN KEY ("receipt_line_id") REFERENCES "receipt_line" ("id"), CONSTRAINT "inspection_refers_piece_id" FOREIGN KEY ("piece_id") REFERENCES "piece" ("id"), CONSTRAINT "inspection_refers_rotor_set_id" FOREIGN KEY ("rotor_set_id") REFERENCES "rotor_set" ("id"), CONSTRAINT "inspection_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED) STRICT
--;
CREATE INDEX "inspection_by_receipt_line_id" ON "inspection" ("receipt_line_id")
--;
CREATE INDEX "inspection_by_piece_id" ON "inspection" ("piece_id")
--;
CREATE INDEX "inspection_by_rotor_set_id" ON "inspection" ("rotor_set_id")
--;
CREATE INDEX "inspection_by_event_id" ON "inspection" ("event_id")
--;
CREATE TABLE "rotor_set" ("id" INTEGER NOT NULL PRIMARY KEY, "code" TEXT NOT NULL, "place_id" INTEGER NOT NULL, "part_id" INTEGER NOT NULL, "sense" TEXT NOT NULL, "state" TEXT NOT NULL, "condition" TEXT NOT NULL, "match_record_id" INTEGER, "used_minutes" INTEGER, "used_flights" INTEGER, "used_since_on" TEXT, "history_known" INTEGER NOT NULL, "bound_position_id" INTEGER, "rematches" INTEGER NOT NULL, "event_id" INTEGER NOT NULL, CONSTRAINT set_sense CHECK (sense IN ('CW', 'CCW')), CONSTRAINT set_state CHECK (state IN ('complete', 'broken')), CONSTRAINT set_condition CHECK (condition IN ('on hold', 'serviceable', 'unserviceable', 'unsalvageable')), CONSTRAINT "rotor_set_refers_place_id" FOREIGN KEY ("place_id") REFERENCES "place" ("id"), CONSTRAINT "rotor_set_refers_part_id" FOREIGN KEY ("part_id") REFERENCES "part" ("id"), CONSTRAINT "rotor_set_refers_match_record_id" FOREIGN KEY ("match_record_id") REFERENCES "match_record" ("id"), CONSTRAINT "rotor_set_refers_bound_position_id" FOREIGN KEY ("bound_position_id") REFERENCES "position" ("id"), CONSTRAINT "rotor_set_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED) STRICT
--;
CREATE UNIQUE INDEX "rotor_set_one_code" ON "rotor_set" ("code")
--;
CREATE INDEX "rotor_set_by_part_id" ON "rotor_set" ("part_id")
--;
CREATE INDEX "rotor_set_by_place_id" ON "rotor_set" ("place_id")
--;
CREATE INDEX "rotor_set_by_event_id" ON "rotor_set" ("event_id")
--;
CREATE TABLE "match_record" ("id" INTEGER NOT NULL PRIMARY KEY, "rotor_set_id" INTEGER NOT NULL, "method" TEXT NOT NULL, "source" TEXT NOT NULL, "tool_id" INTEGER, "tolerance_g_um" INTEGER, "tolerance_source" TEXT NOT NULL, "residual_g_um" INTEGER, "uncertainty_g_um" INTEGER, "tape" TEXT NOT NULL, "event_id" INTEGER NOT NULL, CONSTRAINT match_method CHECK (method IN ('supplier pairing', 'measured')), CONSTRAINT "match_record_refers_rotor_set_id" FOREIGN KEY ("rotor_set_id") REFERENCES "rotor_set" ("id"), CONSTRAINT "match_record_refers_tool_id" FOREIGN KEY ("tool_id") REFERENCES "tool" ("id"), CONSTRAINT "match_record_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED) STRICT
--;
CREATE INDEX "match_record_by_rotor_set_id" ON "match_record" ("rotor_set_id")
--;
CREATE INDEX "match_record_by_tool_id" ON "match_record" ("tool_id")
--;
CREATE INDEX "match_record_by_event_id" ON "match_record" ("event_id")
--;
CREATE TABLE "match_reading" ("id" INTEGER NOT NULL PRIMARY KEY, "match_record_id" INTEGER NOT NULL, "piece_id" INTEGER NOT NULL, "slot" INTEGER NOT NULL, "moment_g_um" INTEGER, CONSTRAINT "match_reading_refers_match_record_id" FOREIGN KEY ("match_record_id") REFERENCES "match_record" ("id"), CONSTRAINT "match_reading_refers_piece_id" FOREIGN KEY ("piece_id") REFERENCES "piece" ("id")) STRICT
--;
CREATE UNIQUE INDEX "match_reading_one_match_record_id_slot" ON "match_reading" ("match_record_id", "slot")
--;
CREATE INDEX "match_reading_by_piece_id" ON "match_reading" ("piece_id")
--;
CREATE TABLE "job" ("id" INTEGER NOT NULL PRIMARY KEY, "code" TEXT NOT NULL, "place_id" INTEGER NOT NULL, "airframe_id" INTEGER NOT NULL, "purpose" TEXT NOT NULL, "state" TEXT NOT NULL, "checked_event_id" INTEGER, "closed_event_id" INTEGER, "event_id" INTEGER NOT NULL, CONSTRAINT job_state CHECK (state IN ('open', 'closed')), CONSTRAINT "job_refers_place_id" FOREIGN KEY ("place_id") REFERENCES "place" ("id"), CONSTRAINT "job_refers_airframe_id" FOREIGN KEY ("airframe_id") REFERENCES "airframe" ("id"), CONSTRAINT "job_refers_checked_event_id" FOREIGN KEY ("checked_event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED, CONSTRAINT "job_refers_closed_event_id" FOREIGN KEY ("closed_event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED, CONSTRAINT "job_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED) STRICT
--;
CREATE UNIQUE INDEX "job_one_code" ON "job" ("code")
--;
CREATE INDEX "job_by_airframe_id_state" ON "job" ("airframe_id", "state")
--;
CREATE INDEX "job_by_state" ON "job" ("state")
--;
CREATE INDEX "job_by_checked_event_id" ON "job" ("checked_event_id")
--;
CREATE INDEX "job_by_closed_event_id" ON "job" ("closed_event_id")
--;
CREATE INDEX "job_by_event_id" ON "job" ("event_id")
--;
CREATE TABLE "job_position" ("id" INTEGER NOT NULL PRIMARY KEY, "job_id" INTEGER NOT NULL, "position_id" INTEGER NOT NULL, "state" TEXT NOT NULL, CONSTRAINT job_position_state CHECK (state IN ('to do', 'bare', 'not finished', 'fitted', 'inspected', 'walked')), CONSTRAINT "job_position_refers_job_id" FOREIGN KEY ("job_id") REFERENCES "job" ("id"), CONSTRAINT "job_position_refers_position_id" FOREIGN KEY ("position_id") REFERENCES "position" ("id")) STRICT
--;
CREATE UNIQUE INDEX "job_position_one_job_id_position_id" ON "job_position" ("job_id", "position_id")
--;
CREATE INDEX "job_position_by_position_id" ON "job_position" ("position_id")
--;
CREATE TABLE "kit" ("id" INTEGER NOT NULL PRIMARY KEY, "code" TEXT NOT NULL, "place_id" INTEGER NOT NULL, "type_revision_id" INTEGER NOT NULL, "settings_revision" INTEGER NOT NULL, "airframe_id" INTEGER, "job_id" INTEGER, "purpose" TEXT NOT NULL, "state" TEXT NOT NULL, "seal" TEXT, "expires_on" TEXT, "built_by_id" INTEGER NOT NULL, "checked_by_id" INTEGER, "event_id" INTEGER NOT NULL, CONSTRAINT kit_purpose CHECK (purpose IN ('full', 'make-good')), CONSTRAINT kit_state CHECK (state IN ('building', 'checked', 'sealed', 'issued', 'opened', 'dissolved')), CONSTRAINT kit_sealed_has_seal CHECK (state NOT IN ('sealed', 'issued') OR seal IS NOT NULL), CONSTRAINT "kit_refers_place_id" FOREIGN KEY ("place_id") REFERENCES "place" ("id"), CONSTRAINT "kit_refers_type_revision_id" FOREIGN KEY ("type_revision_id") REFERENCES "type_revision" ("id"), CONSTRAINT "kit_refers_airframe_id" FOREIGN KEY ("airframe_id") REFERENCES "airframe" ("id"), CONSTRAINT "kit_refers_job_id" FOREIGN KEY ("job_id") REFERENCES "job" ("id"), CONSTRAINT "kit_refers_built_by_id" FOREIGN KEY ("built_by_id") REFERENCES "person" ("id"), CONSTRAINT "kit_refers_checked_by_id" FOREIGN KEY ("checked_by_id") REFERENCES "person" ("id"), CONSTRAINT "kit_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED) STRICT
--;
CREATE UNIQUE INDEX "kit_one_code" ON "kit" ("code")
--;
CREATE UNIQUE INDEX "kit_one_seal" ON "kit" ("seal") WHERE seal IS NOT NULL
--;
CREATE INDEX "kit_by_state" ON "kit" ("state")
--;
CREATE INDEX "kit_by_event_id" ON "kit" ("event_id")
--;
CREATE TABLE "kit_position" ("id" INTEGER NOT NULL PRIMARY KEY, "kit_id" INTEGER NOT NULL, "type_position_id" INTEGER NOT NULL, "sense" TEXT NOT NULL, CONSTRAINT kit_position_sense CHECK (sense IN ('CW', 'CCW')), CONSTRAINT "kit_position_refers_kit_id" FOREIGN KEY ("kit_id") REFERENCES "kit" ("id"), CONSTRAINT "kit_position_refers_type_position_id" FOREIGN KEY ("type_position_id") REFERENCES "type_position" ("id")) STRICT
--;
CREATE UNIQUE INDEX "kit_position_one_kit_id_type_position_id" ON "kit_position" ("kit_id", "type_position_id")
--;
CREATE TABLE "kit_line" ("id" INTEGER NOT NULL PRIMARY KEY, "kit_id" INTEGER NOT NULL, "rank" INTEGER NOT NULL, "kind" TEXT NOT NULL, "part_id" INTEGER NOT NULL, "sense" TEXT, "quantity" INTEGER NOT NULL, "unit" TEXT NOT NULL, "hubs" INTEGER NOT NULL, "per_hub" INTEGER NOT NULL, CONSTRAINT kit_line_kind CHECK (kind IN ('rotor set', 'screw', 'washer', 'threadlocker', 'extra')), CONSTRAINT kit_line_quantity CHECK (quantity > 0), CONSTRAINT "kit_line_refers_kit_id" FOREIGN KEY ("kit_id") REFERENCES "kit" ("id"), CONSTRAINT "kit_line_refers_part_id" FOREIGN KEY ("part_id") REFERENCES "part" ("id")) STRICT
--;
CREATE UNIQUE INDEX "kit_line_one_kit_id_rank" ON "kit_line" ("kit_id", "rank")
--;
CREATE TABLE "kit_pick" ("id" INTEGER NOT NULL PRIMARY KEY, "kit_id" INTEGER NOT NULL, "kit_line_id" INTEGER NOT NULL, "rotor_set_id" INTEGER, "receipt_line_id" INTEGER, "piece_id" INTEGER, "quantity" INTEGER NOT NULL, "type_position_id" INTEGER, "active" INTEGER NOT NULL, "event_id" INTEGER NOT NULL, CONSTRAINT kit_pick_is_one_thing CHECK ((rotor_set_id IS NULL) <> (receipt_line_id IS NULL)), CONSTRAINT kit_pick_quantity CHECK (quantity > 0), CONSTRAINT "kit_pick_refers_kit_id" FOREIGN KEY ("kit_id") REFERENCES "kit" ("id"), CONSTRAINT "kit_pick_refers_kit_line_id" FOREIGN KEY ("kit_line_id") REFERENCES "kit_line" ("id"), CONSTRAINT "kit_pick_refers_rotor_set_id" FOREIGN KEY ("rotor_set_id") REFERENCES "rotor_set" ("id"), CONSTRAINT "kit_pick_refers_receipt_line_id" FOREIGN KEY ("receipt_line_id") REFERENCES "receipt_line" ("id"), CONSTRAINT "kit_pick_refers_piece_id" FOREIGN KEY ("piece_id") REFERENCES "piece" ("id"), CONSTRAINT "kit_pick_refers_type_position_id" FOREIGN KEY ("type_position_id") REFERENCES "type_position" ("id"), CONSTRAINT "kit_pick_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED) STRICT
--;
CREATE INDEX "kit_pick_by_kit_id" ON "kit_pick" ("kit_id")
--;
CREATE INDEX "kit_pick_by_rotor_set_id" ON "kit_pick" ("rotor_set_id")
--;
CREATE INDEX "kit_pick_by_receipt_line_id" ON "kit_pick" ("receipt_line_id")
--;
CREATE INDEX "kit_pick_by_piece_id" ON "kit_pick" ("piece_id")
--;
CREATE INDEX "kit_pick_by_event_id" ON "kit_pick" ("event_id")
--;
CREATE TABLE "reservation" ("id" INTEGER NOT NULL PRIMARY KEY, "job_id" INTEGER NOT NULL, "kit_id" INTEGER, "rotor_set_id" INTEGER, "until_on" TEXT NOT NULL, "state" TEXT NOT NULL, CONSTRAINT reservation_state CHECK (state IN ('active', 'released', 'used')), CONSTRAINT reservation_is_one_thing CHECK ((kit_id IS NULL) <> (rotor_set_id IS NULL)), CONSTRAINT "reservation_refers_job_id" FOREIGN KEY ("job_id") REFERENCES "job" ("id"), CONSTRAINT "reservation_refers_kit_id" FOREIGN KEY ("kit_id") REFERENCES "kit" ("id"), CONSTRAINT "reservation_refers_rotor_set_id" FOREIGN KEY ("rotor_set_id") REFERENCES "rotor_set" ("id")) STRICT
--;
CREATE INDEX "reservation_by_job_id" ON "reservation" ("job_id")
--;
CREATE INDEX "reservation_by_kit_id" ON "reservation" ("kit_id")
--;
CREATE INDEX "reservation_by_rotor_set_id" ON "reservation" ("rotor_set_id")
--;
CREATE TABLE "voucher" ("id" INTEGER NOT NULL PRIMARY KEY, "code" TEXT NOT NULL, "kit_id" INTEGER NOT NULL, "job_id" INTEGER NOT NULL, "airframe_id" INTEGER NOT NULL, "giver_id" INTEGER NOT NULL, "receiver_id" INTEGER NOT NULL, "state" TEXT NOT NULL, "event_id" INTEGER NOT NULL, CONSTRAINT voucher_state CHECK (state IN ('open', 'returned', 'reversed', 'closed')), CONSTRAINT "voucher_refers_kit_id" FOREIGN KEY ("kit_id") REFERENCES "kit" ("id"), CONSTRAINT "voucher_refers_job_id" FOREIGN KEY ("job_id") REFERENCES "job" ("id"), CONSTRAINT "voucher_refers_airframe_id" FOREIGN KEY ("airframe_id") REFERENCES "airframe" ("id"), CONSTRAINT "voucher_refers_giver_id" FOREIGN KEY ("giver_id") REFERENCES "person" ("id"), CONSTRAINT "voucher_refers_receiver_id" FOREIGN KEY ("receiver_id") REFERENCES "person" ("id"), CONSTRAINT "voucher_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED) STRICT
--;
CREATE UNIQUE INDEX "voucher_one_code" ON "voucher" ("code")
--;
CREATE UNIQUE INDEX "voucher_one_kit_id" ON "voucher" ("kit_id") WHERE state = 'open'
--;
CREATE INDEX "voucher_by_kit_id" ON "voucher" ("kit_id")
--;
CREATE INDEX "voucher_by_job_id" ON "voucher" ("job_id")
--;
CREATE INDEX "voucher_by_event_id" ON "voucher" ("event_id")
--;
CREATE TABLE "fit_record" ("id" INTEGER NOT NULL PRIMARY KEY, "job_id" INTEGER NOT NULL, "position_id" INTEGER NOT NULL, "rotor_set_id" INTEGER NOT NULL, "state" TEXT NOT NULL, "sense" TEXT NOT NULL, "mark" TEXT NOT NULL, "map_revision" INTEGER NOT NULL, "screw_line_id" INTEGER, "screws" INTEGER NOT NULL, "washer_line_id" INTEGER, "washers" INTEGER NOT NULL, "locker_line_id" INTEGER, "locker_ul" INTEGER NOT NULL, "torque_method" TEXT NOT NULL, "torque_mnm" INTEGER, "tool_id" INTEGER, "fitted_by_id" INTEGER NOT NULL, "inspected_by_id" INTEGER, "inspection" TEXT NOT NULL, "walked_by_id" INTEGER, "airframe_minutes" INTEGER, "airframe_flights" INTEGER, "is_transport_refit" INTEGER NOT NULL, "event_id" INTEGER NOT NULL, CONSTRAINT fit_state CHECK (state IN ('started', 'fastened', 'inspected', 'removed')), CONSTRAINT fit_inspection CHECK (inspection IN ('', 'second person', 're-inspection')), CONSTRAINT fit_sense CHECK (sense IN ('CW', 'CCW')), CONSTRAINT "fit_record_refers_job_id" FOREIGN KEY ("job_id") REFERENCES "job" ("id"), CONSTRAINT "fit_record_refers_position_id" FOREIGN KEY ("position_id") REFERENCES "position" ("id"), CONSTRAINT "fit_record_refers_rotor_set_id" FOREIGN KEY ("rotor_set_id") REFERENCES "rotor_set" ("id"), CONSTRAINT "fit_record_refers_screw_line_id" FOREIGN KEY ("screw_line_id") REFERENCES "receipt_line" ("id"), CONSTRAINT "fit_record_refers_washer_line_id" FOREIGN KEY ("washer_line_id") REFERENCES "receipt_line" ("id"), CONSTRAINT "fit_record_refers_locker_line_id" FOREIGN KEY ("locker_line_id") REFERENCES "receipt_line" ("id"), CONSTRAINT "fit_record_refers_tool_id" FOREIGN KEY ("tool_id") REFERENCES "tool" ("id"), CONSTRAINT "fit_record_refers_fitted_by_id" FOREIGN KEY ("fitted_by_id") REFERENCES "person" ("id"), CONSTRAINT "fit_record_refers_inspected_by_id" FOREIGN KEY ("inspected_by_id") REFERENCES "person" ("id"), CONSTRAINT "fit_record_refers_walked_by_id" FOREIGN KEY ("walked_by_id") REFERENCES "person" ("id"), CONSTRAINT "fit_record_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED) STRICT
--;
CREATE INDEX "fit_record_by_job_id" ON "fit_record" ("job_id")
--;
CREATE INDEX "fit_record_by_position_id" ON "fit_record" ("position_id")
--;
CREATE INDEX "fit_record_by_rotor_set_id" ON "fit_record" ("rotor_set_id")
--;
CREATE INDEX "fit_record_by_screw_line_id" ON "fit_record" ("screw_line_id")
--;
CREATE INDEX "fit_record_by_washer_line_id" ON "fit_record" ("washer_line_id")
--;
CREATE INDEX "fit_record_by_locker_line_id" ON "fit_record" ("locker_line_id")
--;
CREATE INDEX "fit_record_by_event_id" ON "fit_record" ("event_id")
--;
CREATE TABLE "torque_record" ("id" INTEGER NOT NULL PRIMARY KEY, "position_id" INTEGER NOT NULL, "fit_record_id" INTEGER, "purpose" TEXT NOT NULL, "torque_method" TEXT NOT NULL, "torque_mnm" INTEGER, "tool_id" INTEGER, "airframe_minutes" INTEGER, "event_id" INTEGER NOT NULL, CONSTRAINT torque_purpose CHECK (purpose IN ('fit', 're-torque')), CONSTRAINT "torque_record_refers_position_id" FOREIGN KEY ("position_id") REFERENCES "position" ("id"), CONSTRAINT "torque_record_refers_fit_record_id" FOREIGN KEY ("fit_record_id") REFERENCES "fit_record" ("id"), CONSTRAINT "torque_record_refers_tool_id" FOREIGN KEY ("tool_id") REFERENCES "tool" ("id"), CONSTRAINT "torque_record_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED) STRICT
--;
CREATE INDEX "torque_record_by_position_id" ON "torque_record" ("position_id")
--;
CREATE INDEX "torque_record_by_event_id" ON "torque_record" ("event_id")
--;
CREATE TABLE "removal" ("id" INTEGER NOT NULL PRIMARY KEY, "code" TEXT NOT NULL, "job_id" INTEGER NOT NULL, "airframe_id" INTEGER NOT NULL, "position_id" INTEGER NOT NULL, "rotor_set_id" INTEGER NOT NULL, "purpose" TEXT NOT NULL, "reason" TEXT NOT NULL, "sense_found" TEXT NOT NULL, "mark_found" TEXT NOT NULL, "used_minutes" INTEGER, "used_flights" INTEGER, "is_evidence" INTEGER NOT NULL, "event_id" INTEGER NOT NULL, CONSTRAINT removal_purpose CHECK (purpose IN ('replacement', 'transport', 'finding')), CONSTRAINT removal_sense CHECK (sense_found IN ('CW', 'CCW', '')), CONSTRAINT "removal_refers_job_id" FOREIGN KEY ("job_id") REFERENCES "job" ("id"), CONSTRAINT "removal_refers_airframe_id" FOREIGN KEY ("airframe_id") REFERENCES "airframe" ("id"), CONSTRAINT "removal_refers_position_id" FOREIGN KEY ("position_id") REFERENCES "position" ("id"), CONSTRAINT "removal_refers_rotor_set_id" FOREIGN KEY ("rotor_set_id") REFERENCES "rotor_set" ("id"), CONSTRAINT "removal_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED) STRICT
--;
CREATE UNIQUE INDEX "removal_one_code" ON "removal" ("code")
--;
CREATE INDEX "removal_by_rotor_set_id_position_id" ON "removal" ("rotor_set_id", "position_id")
--;
CREATE INDEX "removal_by_position_id" ON "removal" ("position_id")
--;
CREATE INDEX "removal_by_event_id" ON "removal" ("event_id")
--;
CREATE TABLE "hold" ("id" INTEGER NOT NULL PRIMARY KEY, "code" TEXT NOT NULL, "scope" TEXT NOT NULL, "scope_text" TEXT NOT NULL, "lot_code" TEXT NOT NULL, "reason" TEXT NOT NULL, "reference" TEXT NOT NULL, "is_recall" INTEGER NOT NULL, "is_evidence" INTEGER NOT NULL, "placed_event_id" INTEGER NOT NULL, "released_event_id" INTEGER, "release_reference" TEXT NOT NULL, CONSTRAINT hold_scope_is_known CHECK (scope IN ('lot', 'receipt line', 'piece', 'rotor set', 'kit', 'maker lot', 'serials', 'supplier', 'maker', 'scale', 'airframe')), CONSTRAINT "hold_refers_placed_event_id" FOREIGN KEY ("placed_event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED, CONSTRAINT "hold_refers_released_event_id" FOREIGN KEY ("released_event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED) STRICT
--;
CREATE UNIQUE INDEX "hold_one_code" ON "hold" ("code")
--;
CREATE INDEX "hold_by_placed_event_id" ON "hold" ("placed_event_id")
--;
CREATE INDEX "hold_by_released_event_id" ON "hold" ("released_event_id")
--;
CREATE TABLE "hold_item" ("id" INTEGER NOT NULL PRIMARY KEY, "hold_id" INTEGER NOT NULL, "receipt_line_id" INTEGER, "piece_id" INTEGER, "rotor_set_id" INTEGER, "kit_id" INTEGER, "released_event_id" INTEGER, CONSTRAINT "hold_item_refers_hold_id" FOREIGN KEY ("hold_id") REFERENCES "hold" ("id"), CONSTRAINT "hold_item_refers_receipt_line_id" FOREIGN KEY ("receipt_line_id") REFERENCES "receipt_line" ("id"), CONSTRAINT "hold_item_refers_piece_id" FOREIGN KEY ("piece_id") REFERENCES "piece" ("id"), CONSTRAINT "hold_item_refers_rotor_set_id" FOREIGN KEY ("rotor_set_id") REFERENCES "rotor_set" ("id"), CONSTRAINT "hold_item_refers_kit_id" FOREIGN KEY ("kit_id") REFERENCES "kit" ("id"), CONSTRAINT "hold_item_refers_released_event_id" FOREIGN KEY ("released_event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED) STRICT
--;
CREATE INDEX "hold_item_by_hold_id" ON "hold_item" ("hold_id")
--;
CREATE INDEX "hold_item_by_receipt_line_id_released_event_id" ON "hold_item" ("receipt_line_id", "released_event_id")
--;
CREATE INDEX "hold_item_by_piece_id" ON "hold_item" ("piece_id")
--;
CREATE INDEX "hold_item_by_rotor_set_id" ON "hold_item" ("rotor_set_id")
--;
CREATE INDEX "hold_item_by_kit_id" ON "hold_item" ("kit_id")
--;
CREATE INDEX "hold_item_by_released_event_id" ON "hold_item" ("released_event_id")
--;
CREATE TABLE "finding" ("id" INTEGER NOT NULL PRIMARY KEY, "airframe_id" INTEGER, "position_id" INTEGER, "rotor_set_id" INTEGER, "job_id" INTEGER, "text" TEXT NOT NULL, "settled_event_id" INTEGER, "settlement" TEXT NOT NULL, "event_id" INTEGER NOT NULL, CONSTRAINT "finding_refers_airframe_id" FOREIGN KEY ("airframe_id") REFERENCES "airframe" ("id"), CONSTRAINT "finding_refers_position_id" FOREIGN KEY ("position_id") REFERENCES "position" ("id"), CONSTRAINT "finding_refers_rotor_set_id" FOREIGN KEY ("rotor_set_id") REFERENCES "rotor_set" ("id"), CONSTRAINT "finding_refers_job_id" FOREIGN KEY ("job_id") REFERENCES "job" ("id"), CONSTRAINT "finding_refers_settled_event_id" FOREIGN KEY ("settled_event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED, CONSTRAINT "finding_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED) STRICT
--;
CREATE INDEX "finding_by_airframe_id" ON "finding" ("airframe_id")
--;
CREATE INDEX "finding_by_job_id" ON "finding" ("job_id")
--;
CREATE INDEX "finding_by_settled_event_id" ON "finding" ("settled_event_id")
--;
CREATE INDEX "finding_by_event_id" ON "finding" ("event_id")
--;
CREATE TABLE "stock_count" ("id" INTEGER NOT NULL PRIMARY KEY, "code" TEXT NOT NULL, "place_id" INTEGER NOT NULL, "state" TEXT NOT NULL, "counted_by_id" INTEGER, "event_id" INTEGER NOT NULL, CONSTRAINT count_state CHECK (state IN ('open', 'counted', 'settled')), CONSTRAINT "stock_count_refers_place_id" FOREIGN KEY ("place_id") REFERENCES "place" ("id"), CONSTRAINT "stock_count_refers_counted_by_id" FOREIGN KEY ("counted_by_id") REFERENCES "person" ("id"), CONSTRAINT "stock_count_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED) STRICT
--;
CREATE UNIQUE INDEX "stock_count_one_code" ON "stock_count" ("code")
--;
CREATE INDEX "stock_count_by_event_id" ON "stock_count" ("event_id")
--;
CREATE TABLE "count_line" ("id" INTEGER NOT NULL PRIMARY KEY, "stock_count_id" INTEGER NOT NULL, "receipt_line_id" INTEGER, "piece_id" INTEGER, "container_id" INTEGER, "condition" TEXT NOT NULL, "booked" INTEGER NOT NULL, "counted" INTEGER, "recounted" INTEGER, CONSTRAINT "count_line_refers_stock_count_id" FOREIGN KEY ("stock_count_id") REFERENCES "stock_count" ("id"), CONSTRAINT "count_line_refers_receipt_line_id" FOREIGN KEY ("receipt_line_id") REFERENCES "receipt_line" ("id"), CONSTRAINT "count_line_refers_piece_id" FOREIGN KEY ("piece_id") REFERENCES "piece" ("id"), CONSTRAINT "count_line_refers_container_id" FOREIGN KEY ("container_id") REFERENCES "place" ("id")) STRICT
--;
CREATE INDEX "count_line_by_stock_count_id" ON "count_line" ("stock_count_id")
--;
CREATE TABLE "occurrence" ("id" INTEGER NOT NULL PRIMARY KEY, "airframe_id" INTEGER NOT NULL, "text" TEXT NOT NULL, "happened_at" TEXT NOT NULL, "event_id" INTEGER NOT NULL, CONSTRAINT "occurrence_refers_airframe_id" FOREIGN KEY ("airframe_id") REFERENCES "airframe" ("id"), CONSTRAINT "occurrence_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED) STRICT
--;
CREATE INDEX "occurrence_by_event_id" ON "occurrence" ("event_id")
--;
CREATE TABLE "label_print" ("id" INTEGER NOT NULL PRIMARY KEY, "subject" TEXT NOT NULL, "copy_number" INTEGER NOT NULL, "stock" TEXT NOT NULL, "event_id" INTEGER NOT NULL, CONSTRAINT "label_print_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED) STRICT
--;
CREATE INDEX "label_print_by_subject" ON "label_print" ("subject")
--;
CREATE INDEX "label_print_by_event_id" ON "label_print" ("event_id")
--;
CREATE TABLE "label_void" ("id" INTEGER NOT NULL PRIMARY KEY, "label_print_id" INTEGER NOT NULL, "reason" TEXT NOT NULL, "event_id" INTEGER NOT NULL, CONSTRAINT "label_void_refers_label_print_id" FOREIGN KEY ("label_print_id") REFERENCES "label_print" ("id"), CONSTRAINT "label_void_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED) STRICT
--;
CREATE UNIQUE INDEX "label_void_one_label_print_id" ON "label_void" ("label_print_id")
--;
CREATE INDEX "label_void_by_event_id" ON "label_void" ("event_id")
--;
CREATE TABLE "override" ("id" INTEGER NOT NULL PRIMARY KEY, "kind" TEXT NOT NULL, "subject" TEXT NOT NULL, "reason" TEXT NOT NULL, "event_id" INTEGER NOT NULL, CONSTRAINT override_kind CHECK (kind IN ('other airframe', 'refit elsewhere', 'shelf life extended')), CONSTRAINT "override_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED) STRICT
--;
CREATE INDEX "override_by_event_id" ON "override" ("event_id")
--;
CREATE TABLE "alone_declaration" ("id" INTEGER NOT NULL PRIMARY KEY, "person_id" INTEGER NOT NULL, "job_id" INTEGER, "from_on" TEXT NOT NULL, "until_on" TEXT NOT NULL, "reason" TEXT NOT NULL, "event_id" INTEGER NOT NULL, CONSTRAINT "alone_declaration_refers_person_id" FOREIGN KEY ("person_id") REFERENCES "person" ("id"), CONSTRAINT "alone_declaration_refers_job_id" FOREIGN KEY ("job_id") REFERENCES "job" ("id"), CONSTRAINT "alone_declaration_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED) STRICT
--;
CREATE INDEX "alone_declaration_by_event_id" ON "alone_declaration" ("event_id")
--;
CREATE TABLE "setting_change" ("id" INTEGER NOT NULL PRIMARY KEY, "subject" TEXT NOT NULL, "name" TEXT NOT NULL, "old" TEXT NOT NULL, "new" TEXT NOT NULL, "source" TEXT NOT NULL, "event_id" INTEGER NOT NULL, CONSTRAINT "setting_change_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED) STRICT
--;
CREATE INDEX "setting_change_by_event_id" ON "setting_change" ("event_id")
--;
CREATE TABLE "acknowledgement" ("id" INTEGER NOT NULL PRIMARY KEY, "person_id" INTEGER NOT NULL, "what" TEXT NOT NULL, "event_id" INTEGER NOT NULL, CONSTRAINT "acknowledgement_refers_person_id" FOREIGN KEY ("person_id") REFERENCES "person" ("id"), CONSTRAINT "acknowledgement_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED) STRICT
--;
CREATE UNIQUE INDEX "acknowledgement_one_person_id_what" ON "acknowledgement" ("person_id", "what")
--;
CREATE INDEX "acknowledgement_by_event_id" ON "acknowledgement" ("event_id")
--;
CREATE TABLE "credential" ("id" INTEGER NOT NULL PRIMARY KEY, "person_id" INTEGER NOT NULL, "method" TEXT NOT NULL, "cost_n" INTEGER NOT NULL, "block_r" INTEGER NOT NULL, "parallel_p" INTEGER NOT NULL, "salt" TEXT NOT NULL, "digest" TEXT NOT NULL, "failures" INTEGER NOT NULL, "locked_until_at" TEXT, CONSTRAINT credential_method CHECK (method IN ('scrypt')), CONSTRAINT credential_cost CHECK (cost_n BETWEEN 2 AND 1048576 AND block_r BETWEEN 1 AND 32 AND parallel_p BETWEEN 1 AND 16), CONSTRAINT credential_failures CHECK (failures >= 0), CONSTRAINT "credential_refers_person_id" FOREIGN KEY ("person_id") REFERENCES "person" ("id")) STRICT
--;
CREATE UNIQUE INDEX "credential_one_person_id" ON "credential" ("person_id")
--;
CREATE TABLE "movement" ("id" INTEGER NOT NULL PRIMARY KEY, "event_id" INTEGER NOT NULL, "receipt_line_id" INTEGER, "container_id" INTEGER, "quantity" INTEGER NOT NULL, "from_place_id" INTEGER, "from_condition" TEXT NOT NULL, "from_piece_id" INTEGER, "to_place_id" INTEGER NOT NULL, "to_condition" TEXT NOT NULL, "to_piece_id" INTEGER, CONSTRAINT movement_is_one_thing CHECK ((receipt_line_id IS NULL) <> (container_id IS NULL)), CONSTRAINT movement_quantity CHECK (quantity > 0 AND (container_id IS NULL OR quantity = 1)), CONSTRAINT movement_of_stock_has_conditions CHECK ((receipt_line_id IS NULL) = (from_condition = '') AND (receipt_line_id IS NULL) = (to_condition = '')), CONSTRAINT movement_goes_somewhere CHECK (from_place_id IS NULL OR from_place_id <> to_place_id OR from_condition <> to_condition OR coalesce(from_piece_id, 0) <> coalesce(to_piece_id, 0)), CONSTRAINT movement_of_stock_has_source CHECK (from_place_id IS NOT NULL OR container_id IS NOT NULL), CONSTRAINT "movement_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED, CONSTRAINT "movement_refers_receipt_line_id" FOREIGN KEY ("receipt_line_id") REFERENCES "receipt_line" ("id"), CONSTRAINT "movement_refers_container_id" FOREIGN KEY ("container_id") REFERENCES "place" ("id"), CONSTRAINT "movement_refers_from_place_id" FOREIGN KEY ("from_place_id") REFERENCES "place" ("id"), CONSTRAINT "movement_refers_from_piece_id" FOREIGN KEY ("from_piece_id") REFERENCES "piece" ("id"), CONSTRAINT "movement_refers_to_place_id" FOREIGN KEY ("to_place_id") REFERENCES "place" ("id"), CONSTRAINT "movement_refers_to_piece_id" FOREIGN KEY ("to_piece_id") REFERENCES "piece" ("id")) STRICT
--;
CREATE INDEX "movement_by_event_id" ON "movement" ("event_id")
--;
CREATE INDEX "movement_by_receipt_line_id" ON "movement" ("receipt_line_id")
--;
CREATE INDEX "movement_by_container_id" ON "movement" ("container_id")
--;
CREATE INDEX "movement_by_to_piece_id" ON "movement" ("to_piece_id")
--;
CREATE INDEX "movement_by_to_place_id" ON "movement" ("to_place_id")
--;
CREATE TABLE "holding" ("id" INTEGER NOT NULL PRIMARY KEY, "receipt_line_id" INTEGER NOT NULL, "piece_id" INTEGER, "place_id" INTEGER NOT NULL, "condition" TEXT NOT NULL, "quantity" INTEGER NOT NULL, CONSTRAINT "holding_refers_receipt_line_id" FOREIGN KEY ("receipt_line_id") REFERENCES "receipt_line" ("id"), CONSTRAINT "holding_refers_piece_id" FOREIGN KEY ("piece_id") REFERENCES "piece" ("id"), CONSTRAINT "holding_refers_place_id" FOREIGN KEY ("place_id") REFERENCES "place" ("id")) STRICT
--;
CREATE UNIQUE INDEX "holding_one_receipt_line_id_place_id_condition" ON "holding" ("receipt_line_id", "place_id", "condition") WHERE piece_id IS NULL
--;
CREATE UNIQUE INDEX "holding_one_piece_id" ON "holding" ("piece_id") WHERE piece_id IS NOT NULL
--;
CREATE INDEX "holding_by_place_id" ON "holding" ("place_id")
--;
CREATE INDEX "holding_by_receipt_line_id_place_id" ON "holding" ("receipt_line_id", "place_id")
--;
CREATE TABLE "containment" ("id" INTEGER NOT NULL PRIMARY KEY, "container_id" INTEGER NOT NULL, "inside_id" INTEGER NOT NULL, CONSTRAINT "containment_refers_container_id" FOREIGN KEY ("container_id") REFERENCES "place" ("id"), CONSTRAINT "containment_refers_inside_id" FOREIGN KEY ("inside_id") REFERENCES "place" ("id")) STRICT
--;
CREATE UNIQUE INDEX "containment_one_container_id" ON "containment" ("container_id")
--;
CREATE INDEX "containment_by_inside_id" ON "containment" ("inside_id")
--;
CREATE TRIGGER event_never_deleted BEFORE DELETE ON "event" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER event_never_changed BEFORE UPDATE ON "event" BEGIN SELECT RAISE(ABORT, 'guard: history can not be changed'); END
--;
CREATE TRIGGER site_never_deleted BEFORE DELETE ON "site" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER person_never_deleted BEFORE DELETE ON "person" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER person_role_never_deleted BEFORE DELETE ON "person_role" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER place_never_deleted BEFORE DELETE ON "place" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER company_never_deleted BEFORE DELETE ON "company" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER part_never_deleted BEFORE DELETE ON "part" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER part_mark_never_deleted BEFORE DELETE ON "part_mark" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER part_mark_never_changed BEFORE UPDATE ON "part_mark" BEGIN SELECT RAISE(ABORT, 'guard: history can not be changed'); END
--;
CREATE TRIGGER paper_kind_never_deleted BEFORE DELETE ON "paper_kind" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER airframe_type_never_deleted BEFORE DELETE ON "airframe_type" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER type_revision_never_deleted BEFORE DELETE ON "type_revision" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER hub_fixing_never_deleted BEFORE DELETE ON "hub_fixing" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER type_position_never_deleted BEFORE DELETE ON "type_position" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER approved_part_never_deleted BEFORE DELETE ON "approved_part" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER position_group_never_deleted BEFORE DELETE ON "position_group" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER kit_list_line_never_deleted BEFORE DELETE ON "kit_list_line" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER airframe_never_deleted BEFORE DELETE ON "airframe" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER position_never_deleted BEFORE DELETE ON "position" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER sense_map_never_deleted BEFORE DELETE ON "sense_map" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER sense_map_line_never_deleted BEFORE DELETE ON "sense_map_line" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER sense_map_line_never_changed BEFORE UPDATE ON "sense_map_line" BEGIN SELECT RAISE(ABORT, 'guard: history can not be changed'); END
--;
CREATE TRIGGER usage_reading_never_deleted BEFORE DELETE ON "usage_reading" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER usage_reading_never_changed BEFORE UPDATE ON "usage_reading" BEGIN SELECT RAISE(ABORT, 'guard: history can not be changed'); END
--;
CREATE TRIGGER tool_never_deleted BEFORE DELETE ON "tool" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER lot_never_deleted BEFORE DELETE ON "lot" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER delivery_never_deleted BEFORE DELETE ON "delivery" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER receipt_line_never_deleted BEFORE DELETE ON "receipt_line" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER paper_never_deleted BEFORE DELETE ON "paper" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER paper_never_changed BEFORE UPDATE ON "paper" BEGIN SELECT RAISE(ABORT, 'guard: history can not be changed'); END
--;
CREATE TRIGGER piece_never_deleted BEFORE DELETE ON "piece" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER inspection_never_deleted BEFORE DELETE ON "inspection" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER inspection_never_changed BEFORE UPDATE ON "inspection" BEGIN SELECT RAISE(ABORT, 'guard: history can not be changed'); END
--;
CREATE TRIGGER rotor_set_never_deleted BEFORE DELETE ON "rotor_set" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER match_record_never_deleted BEFORE DELETE ON "match_record" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER match_record_never_changed BEFORE UPDATE ON "match_record" BEGIN SELECT RAISE(ABORT, 'guard: history can not be changed'); END
--;
CREATE TRIGGER match_reading_never_deleted BEFORE DELETE ON "match_reading" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER match_reading_never_changed BEFORE UPDATE ON "match_reading" BEGIN SELECT RAISE(ABORT, 'guard: history can not be changed'); END
--;
CREATE TRIGGER job_never_deleted BEFORE DELETE ON "job" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER job_position_never_deleted BEFORE DELETE ON "job_position" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER kit_never_deleted BEFORE DELETE ON "kit" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER kit_position_never_deleted BEFORE DELETE ON "kit_position" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER kit_position_never_changed BEFORE UPDATE ON "kit_position" BEGIN SELECT RAISE(ABORT, 'guard: history can not be changed'); END
--;
CREATE TRIGGER kit_line_never_deleted BEFORE DELETE ON "kit_line" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER kit_line_never_changed BEFORE UPDATE ON "kit_line" BEGIN SELECT RAISE(ABORT, 'guard: history can not be changed'); END
--;
CREATE TRIGGER kit_pick_never_deleted BEFORE DELETE ON "kit_pick" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER reservation_never_deleted BEFORE DELETE ON "reservation" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER voucher_never_deleted BEFORE DELETE ON "voucher" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER fit_record_never_deleted BEFORE DELETE ON "fit_record" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER torque_record_never_deleted BEFORE DELETE ON "torque_record" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER torque_record_never_changed BEFORE UPDATE ON "torque_record" BEGIN SELECT RAISE(ABORT, 'guard: history can not be changed'); END
--;
CREATE TRIGGER removal_never_deleted BEFORE DELETE ON "removal" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER removal_never_changed BEFORE UPDATE ON "removal" BEGIN SELECT RAISE(ABORT, 'guard: history can not be changed'); END
--;
CREATE TRIGGER hold_never_deleted BEFORE DELETE ON "hold" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER hold_item_never_deleted BEFORE DELETE ON "hold_item" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER finding_never_deleted BEFORE DELETE ON "finding" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER stock_count_never_deleted BEFORE DELETE ON "stock_count" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER count_line_never_deleted BEFORE DELETE ON "count_line" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER occurrence_never_deleted BEFORE DELETE ON "occurrence" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER occurrence_never_changed BEFORE UPDATE ON "occurrence" BEGIN SELECT RAISE(ABORT, 'guard: history can not be changed'); END
--;
CREATE TRIGGER label_print_never_deleted BEFORE DELETE ON "label_print" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER label_print_never_changed BEFORE UPDATE ON "label_print" BEGIN SELECT RAISE(ABORT, 'guard: history can not be changed'); END
--;
CREATE TRIGGER label_void_never_deleted BEFORE DELETE ON "label_void" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER label_void_never_changed BEFORE UPDATE ON "label_void" BEGIN SELECT RAISE(ABORT, 'guard: history can not be changed'); END
--;
CREATE TRIGGER override_never_deleted BEFORE DELETE ON "override" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER override_never_changed BEFORE UPDATE ON "override" BEGIN SELECT RAISE(ABORT, 'guard: history can not be changed'); END
--;
CREATE TRIGGER alone_declaration_never_deleted BEFORE DELETE ON "alone_declaration" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER alone_declaration_never_changed BEFORE UPDATE ON "alone_declaration" BEGIN SELECT RAISE(ABORT, 'guard: history can not be changed'); END
--;
CREATE TRIGGER setting_change_never_deleted BEFORE DELETE ON "setting_change" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER setting_change_never_changed BEFORE UPDATE ON "setting_change" BEGIN SELECT RAISE(ABORT, 'guard: history can not be changed'); END
--;
CREATE TRIGGER acknowledgement_never_deleted BEFORE DELETE ON "acknowledgement" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER acknowledgement_never_changed BEFORE UPDATE ON "acknowledgement" BEGIN SELECT RAISE(ABORT, 'guard: history can not be changed'); END
--;
CREATE TRIGGER credential_never_deleted BEFORE DELETE ON "credential" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER movement_never_deleted BEFORE DELETE ON "movement" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER movement_never_changed BEFORE UPDATE ON "movement" BEGIN SELECT RAISE(ABORT, 'guard: history can not be changed'); END
--;
CREATE TRIGGER store_stamp_never_deleted BEFORE DELETE ON "store_stamp" BEGIN SELECT RAISE(ABORT, 'guard: rows can not be deleted'); END
--;
CREATE TRIGGER movement_folds AFTER INSERT ON movement BEGIN
  SELECT RAISE(ABORT, 'guard: a closed container can not be taken from or added to') WHERE
    (NEW.from_place_id IS NULL OR NEW.from_place_id <> NEW.to_place_id) AND EXISTS (
      SELECT 1 FROM place WHERE closed = 1 AND id IN (NEW.from_place_id, NEW.to_place_id));
  SELECT RAISE(ABORT, 'guard: the place is no longer in use') WHERE EXISTS (SELECT 1 FROM place WHERE active = 0 AND id = NEW.to_place_id);

  SELECT RAISE(ABORT, 'guard: that container can not be put inside there') WHERE NEW.container_id IS NOT NULL AND EXISTS (
    SELECT 1 FROM place c, place t WHERE c.id = NEW.container_id AND t.id = NEW.to_place_id AND (
    (c.kind = 'rotor set' AND t.kind IN ('rotor set', 'airframe'))
    OR (c.kind = 'kit' AND t.kind IN ('rotor set', 'kit', 'position', 'airframe', 'job'))
    OR (c.kind = 'position' AND t.kind <> 'airframe')
    OR (c.kind = 'airframe' AND t.kind IN ('rotor set', 'kit', 'position', 'airframe', 'job', 'hands'))
    OR c.kind NOT IN ('rotor set', 'kit', 'position', 'airframe')));
  SELECT RAISE(ABORT, 'guard: the container is not where the movement takes it from') WHERE NEW.container_id IS NOT NULL AND NEW.from_place_id IS NOT NULL
    AND NOT EXISTS (SELECT 1 FROM containment
                    WHERE container_id = NEW.container_id AND inside_id = NEW.from_place_id);
  UPDATE containment SET inside_id = NEW.to_place_id
    WHERE NEW.from_place_id IS NOT NULL AND container_id = NEW.container_id;
  INSERT INTO containment (container_id, inside_id)
    SELECT NEW.container_id, NEW.to_place_id WHERE NEW.container_id IS NOT NULL AND NEW.from_place_id IS NULL;

  INSERT INTO holding (receipt_line_id, piece_id, place_id, condition, quantity)
    SELECT NEW.receipt_line_id, NEW.from_piece_id, NEW.from_place_id, NEW.from_condition, 0
    WHERE NEW.receipt_line_id IS NOT NULL AND NEW.from_piece_id IS NULL AND NOT EXISTS (
      SELECT 1 FROM holding WHERE receipt_line_id = NEW.receipt_line_id AND place_id = NEW.from_place_id
        AND condition = NEW.from_condition AND piece_id IS NULL);
  SELECT RAISE(ABORT, 'guard: more would be taken than is there') WHERE NEW.from_piece_id IS NOT NULL AND NOT EXISTS (
    SELECT 1 FROM holding WHERE receipt_line_id = NEW.receipt_line_id AND place_id = NEW.from_place_id
      AND condition = NEW.from_condition AND piece_id = NEW.from_piece_id AND quantity >= NEW.quantity);
  UPDATE holding SET quantity = quantity - NEW.quantity
    WHERE receipt_line_id = NEW.receipt_line_id AND place_id = NEW.from_place_id
      AND condition = NEW.from_condition AND piece_id IS NEW.from_piece_id;
  SELECT RAISE(ABORT, 'guard: more would be taken than is there') WHERE EXISTS (
    SELECT 1 FROM holding h JOIN place p ON p.id = h.place_id
    WHERE h.receipt_line_id = NEW.receipt_line_id AND h.place_id = NEW.from_place_id
      AND h.condition = NEW.from_condition AND h.piece_id IS NEW.from_piece_id AND h.quantity < 0
      AND p.kind NOT IN ('supplier', 'unaccounted'));
  DELETE FROM holding WHERE receipt_line_id = NEW.receipt_line_id AND place_id = NEW.from_place_id AND quantity = 0;

  INSERT INTO holding (receipt_line_id, piece_id, place_id, condition, quantity)
    SELECT NEW.receipt_line_id, NEW.to_piece_id, NEW.to_place_id, NEW.to_condition, 0
    WHERE NEW.receipt_line_id IS NOT NULL AND NOT EXISTS (
      SELECT 1 FROM holding WHERE receipt_line_id = NEW.receipt_line_id AND place_id = NEW.to_place_id
        AND condition = NEW.to_condition AND piece_id IS NEW.to_piece_id);
  UPDATE holding SET quantity = quantity + NEW.quantity
    WHERE receipt_line_id = NEW.receipt_line_id AND place_id = NEW.to_place_id
      AND condition = NEW.to_condition AND piece_id IS NEW.to_piece_id;
  DELETE FROM holding WHERE receipt_line_id = NEW.receipt_line_id AND place_id = NEW.to_place_id AND quantity = 0;
END
