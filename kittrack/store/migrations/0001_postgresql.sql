CREATE TABLE "event" ("id" BIGINT NOT NULL PRIMARY KEY, "act" TEXT COLLATE "C" NOT NULL, "at" TEXT COLLATE "C" NOT NULL, "offset_minutes" BIGINT NOT NULL, "by_id" BIGINT NOT NULL, "second_id" BIGINT, "reason" TEXT COLLATE "C" NOT NULL, "key" TEXT COLLATE "C" NOT NULL, "statements" TEXT COLLATE "C" NOT NULL, "previous_hash" TEXT COLLATE "C" NOT NULL, "hash" TEXT COLLATE "C" NOT NULL, CONSTRAINT event_hash_is_sha256 CHECK (length(hash) = 64 AND length(previous_hash) = 64))
--;
CREATE UNIQUE INDEX "event_one_key" ON "event" ("key")
--;
CREATE INDEX "event_by_at" ON "event" ("at")
--;
CREATE TABLE "site" ("id" BIGINT NOT NULL PRIMARY KEY, "name" TEXT COLLATE "C" NOT NULL, "time_zone" TEXT COLLATE "C" NOT NULL)
--;
CREATE UNIQUE INDEX "site_one_name" ON "site" ("name")
--;
CREATE TABLE "person" ("id" BIGINT NOT NULL PRIMARY KEY, "code" TEXT COLLATE "C" NOT NULL, "name" TEXT COLLATE "C" NOT NULL, "active" BIGINT NOT NULL, "is_script" BIGINT NOT NULL, "same_human_as_id" BIGINT, "event_id" BIGINT NOT NULL)
--;
CREATE UNIQUE INDEX "person_one_code" ON "person" ("code")
--;
CREATE UNIQUE INDEX "person_one_name" ON "person" ("name")
--;
CREATE TABLE "person_role" ("id" BIGINT NOT NULL PRIMARY KEY, "person_id" BIGINT NOT NULL, "role" TEXT COLLATE "C" NOT NULL, "active" BIGINT NOT NULL, CONSTRAINT role_is_known CHECK (role IN ('clerk', 'technician', 'inspector', 'manager', 'auditor')))
--;
CREATE UNIQUE INDEX "person_role_one_person_id_role" ON "person_role" ("person_id", "role")
--;
CREATE TABLE "place" ("id" BIGINT NOT NULL PRIMARY KEY, "code" TEXT COLLATE "C" NOT NULL, "kind" TEXT COLLATE "C" NOT NULL, "name" TEXT COLLATE "C" NOT NULL, "site_id" BIGINT, "person_id" BIGINT, "closed" BIGINT NOT NULL, "active" BIGINT NOT NULL, CONSTRAINT place_kind_is_known CHECK (kind IN ('bin', 'goods-in', 'hold cage', 'bench', 'van', 'hands', 'job', 'removed-parts cage', 'rotor set', 'kit', 'position', 'airframe', 'apron', 'supplier', 'returned to supplier', 'consumed', 'scrapped', 'sold', 'lost', 'unaccounted')), CONSTRAINT place_closed_is_flag CHECK (closed IN (0, 1)))
--;
CREATE UNIQUE INDEX "place_one_code" ON "place" ("code")
--;
CREATE UNIQUE INDEX "place_one_kind_name" ON "place" ("kind", "name")
--;
CREATE INDEX "place_by_name" ON "place" ("name")
--;
CREATE TABLE "company" ("id" BIGINT NOT NULL PRIMARY KEY, "name" TEXT COLLATE "C" NOT NULL, "is_maker" BIGINT NOT NULL, "is_supplier" BIGINT NOT NULL, "lead_time_days" BIGINT)
--;
CREATE UNIQUE INDEX "company_one_name" ON "company" ("name")
--;
CREATE TABLE "part" ("id" BIGINT NOT NULL PRIMARY KEY, "number" TEXT COLLATE "C" NOT NULL, "maker_id" BIGINT NOT NULL, "name" TEXT COLLATE "C" NOT NULL, "kind" TEXT COLLATE "C" NOT NULL, "tracking" TEXT COLLATE "C" NOT NULL, "unit" TEXT COLLATE "C" NOT NULL, "paper_class" TEXT COLLATE "C" NOT NULL, "revision" BIGINT NOT NULL, "mark_revision" BIGINT NOT NULL, "pack_quantity" BIGINT NOT NULL, "sense" TEXT COLLATE "C", "thread_hand" TEXT COLLATE "C", "blades_per_rotor" BIGINT, "hub_part_id" BIGINT, "hub_in_set" BIGINT NOT NULL, "tolerance_g_um" BIGINT, "tolerance_source" TEXT COLLATE "C" NOT NULL, "pairing_suffices" BIGINT NOT NULL, "pairing_source" TEXT COLLATE "C" NOT NULL, "mixes_lots" BIGINT NOT NULL, "trim_allowed" BIGINT NOT NULL, "thread" TEXT COLLATE "C" NOT NULL, "length_um" BIGINT, "head" TEXT COLLATE "C" NOT NULL, "drive" TEXT COLLATE "C" NOT NULL, "property_class" TEXT COLLATE "C" NOT NULL, "single_use" BIGINT NOT NULL, "single_dose" BIGINT NOT NULL, "expiry_needed" BIGINT NOT NULL, "shelf_life_days" BIGINT, "opened_life_days" BIGINT, "life_minutes" BIGINT, "life_flights" BIGINT, "life_days" BIGINT, "superseded_by_id" BIGINT, "superseded_how" TEXT COLLATE "C" NOT NULL, "source" TEXT COLLATE "C" NOT NULL, CONSTRAINT part_kind_is_known CHECK (kind IN ('blade', 'hub', 'fastener', 'consumable', 'other')), CONSTRAINT part_unit_is_known CHECK (unit IN ('pieces', 'volume_ul')), CONSTRAINT part_tracking_is_known CHECK (tracking IN ('lot', 'serial')), CONSTRAINT part_blade_has_sense CHECK (kind <> 'blade' OR sense IN ('CW', 'CCW')), CONSTRAINT part_supersession_is_known CHECK (superseded_how IN ('', 'use up', 'safety')))
--;
CREATE UNIQUE INDEX "part_one_maker_id_number" ON "part" ("maker_id", "number")
--;
CREATE INDEX "part_by_number" ON "part" ("number")
--;
CREATE TABLE "part_mark" ("id" BIGINT NOT NULL PRIMARY KEY, "part_id" BIGINT NOT NULL, "revision" BIGINT NOT NULL, "mark" TEXT COLLATE "C" NOT NULL, "sense" TEXT COLLATE "C" NOT NULL, CONSTRAINT mark_has_sense CHECK (sense IN ('CW', 'CCW')))
--;
CREATE UNIQUE INDEX "part_mark_one_part_id_revision_mark" ON "part_mark" ("part_id", "revision", "mark")
--;
CREATE TABLE "paper_kind" ("id" BIGINT NOT NULL PRIMARY KEY, "paper_class" TEXT COLLATE "C" NOT NULL, "kind" TEXT COLLATE "C" NOT NULL, "active" BIGINT NOT NULL)
--;
CREATE UNIQUE INDEX "paper_kind_one_paper_class_kind" ON "paper_kind" ("paper_class", "kind")
--;
CREATE TABLE "airframe_type" ("id" BIGINT NOT NULL PRIMARY KEY, "name" TEXT COLLATE "C" NOT NULL)
--;
CREATE UNIQUE INDEX "airframe_type_one_name" ON "airframe_type" ("name")
--;
CREATE TABLE "type_revision" ("id" BIGINT NOT NULL PRIMARY KEY, "airframe_type_id" BIGINT NOT NULL, "name" TEXT COLLATE "C" NOT NULL, "settings_revision" BIGINT NOT NULL, "retorque_minutes" BIGINT, "source" TEXT COLLATE "C" NOT NULL)
--;
CREATE UNIQUE INDEX "type_revision_one_airframe_type_id_name" ON "type_revision" ("airframe_type_id", "name")
--;
CREATE TABLE "hub_fixing" ("id" BIGINT NOT NULL PRIMARY KEY, "type_revision_id" BIGINT NOT NULL, "name" TEXT COLLATE "C" NOT NULL, "screw_part_id" BIGINT NOT NULL, "screws_per_hub" BIGINT NOT NULL, "washer_part_id" BIGINT, "washers_per_hub" BIGINT NOT NULL, "locker_part_id" BIGINT, "locker_ul_per_screw" BIGINT NOT NULL, "torque_method" TEXT COLLATE "C" NOT NULL, "torque_mnm" BIGINT, "torque_tolerance_mnm" BIGINT, "torque_text" TEXT COLLATE "C" NOT NULL, "torque_condition" TEXT COLLATE "C" NOT NULL, "torque_source" TEXT COLLATE "C" NOT NULL, "stack_um" BIGINT, "engagement_min_um" BIGINT, "engagement_max_um" BIGINT, CONSTRAINT fixing_method_is_known CHECK (torque_method IN ('torque', 'angle', 'snug')), CONSTRAINT fixing_has_torque CHECK (torque_method <> 'torque' OR torque_mnm > 0), CONSTRAINT fixing_counts CHECK (screws_per_hub >= 0 AND washers_per_hub >= 0 AND locker_ul_per_screw >= 0))
--;
CREATE UNIQUE INDEX "hub_fixing_one_type_revision_id_name" ON "hub_fixing" ("type_revision_id", "name")
--;
CREATE TABLE "type_position" ("id" BIGINT NOT NULL PRIMARY KEY, "type_revision_id" BIGINT NOT NULL, "rank" BIGINT NOT NULL, "name" TEXT COLLATE "C" NOT NULL, "alias" TEXT COLLATE "C" NOT NULL, "arm" TEXT COLLATE "C" NOT NULL, "level" TEXT COLLATE "C" NOT NULL, "drive" TEXT COLLATE "C" NOT NULL, "sense" TEXT COLLATE "C" NOT NULL, "angle_mdeg" BIGINT NOT NULL, "radius_um" BIGINT NOT NULL, "hub_fixing_id" BIGINT NOT NULL, CONSTRAINT type_position_sense CHECK (sense IN ('CW', 'CCW')), CONSTRAINT type_position_level CHECK (level IN ('single', 'upper', 'lower')), CONSTRAINT type_position_drive CHECK (drive IN ('tractor', 'pusher')))
--;
CREATE UNIQUE INDEX "type_position_one_type_revision_id_name" ON "type_position" ("type_revision_id", "name")
--;
CREATE TABLE "approved_part" ("id" BIGINT NOT NULL PRIMARY KEY, "type_position_id" BIGINT NOT NULL, "part_id" BIGINT NOT NULL, "active" BIGINT NOT NULL)
--;
CREATE UNIQUE INDEX "approved_part_one_type_position_id_part_id" ON "approved_part" ("type_position_id", "part_id")
--;
CREATE TABLE "position_group" ("id" BIGINT NOT NULL PRIMARY KEY, "type_revision_id" BIGINT NOT NULL, "name" TEXT COLLATE "C" NOT NULL, "type_position_id" BIGINT NOT NULL)
--;
CREATE UNIQUE INDEX "position_group_one_type_revision_id_name_type_position_id" ON "position_group" ("type_revision_id", "name", "type_position_id")
--;
CREATE TABLE "kit_list_line" ("id" BIGINT NOT NULL PRIMARY KEY, "type_revision_id" BIGINT NOT NULL, "part_id" BIGINT NOT NULL, "quantity" BIGINT NOT NULL, "per" TEXT COLLATE "C" NOT NULL, CONSTRAINT kit_list_per CHECK (per IN ('kit', 'hub')), CONSTRAINT kit_list_quantity CHECK (quantity > 0))
--;
CREATE UNIQUE INDEX "kit_list_line_one_type_revision_id_part_id_per" ON "kit_list_line" ("type_revision_id", "part_id", "per")
--;
CREATE TABLE "airframe" ("id" BIGINT NOT NULL PRIMARY KEY, "code" TEXT COLLATE "C" NOT NULL, "tail" TEXT COLLATE "C" NOT NULL, "type_revision_id" BIGINT NOT NULL, "place_id" BIGINT NOT NULL, "sense_map_id" BIGINT, "minutes" BIGINT, "flights" BIGINT, "state" TEXT COLLATE "C" NOT NULL, "owner_id" BIGINT, CONSTRAINT airframe_state CHECK (state IN ('active', 'sold', 'written off')))
--;
CREATE UNIQUE INDEX "airframe_one_code" ON "airframe" ("code")
--;
CREATE UNIQUE INDEX "airframe_one_tail" ON "airframe" ("tail")
--;
CREATE TABLE "position" ("id" BIGINT NOT NULL PRIMARY KEY, "code" TEXT COLLATE "C" NOT NULL, "airframe_id" BIGINT NOT NULL, "type_position_id" BIGINT NOT NULL, "place_id" BIGINT NOT NULL, "name" TEXT COLLATE "C" NOT NULL, "active" BIGINT NOT NULL)
--;
CREATE UNIQUE INDEX "position_one_code" ON "position" ("code")
--;
CREATE UNIQUE INDEX "position_one_airframe_id_name" ON "position" ("airframe_id", "name")
--;
CREATE TABLE "sense_map" ("id" BIGINT NOT NULL PRIMARY KEY, "airframe_id" BIGINT NOT NULL, "revision" BIGINT NOT NULL, "source" TEXT COLLATE "C" NOT NULL, "verified_event_id" BIGINT, "cleared_event_id" BIGINT, "event_id" BIGINT NOT NULL)
--;
CREATE UNIQUE INDEX "sense_map_one_airframe_id_revision" ON "sense_map" ("airframe_id", "revision")
--;
CREATE TABLE "sense_map_line" ("id" BIGINT NOT NULL PRIMARY KEY, "sense_map_id" BIGINT NOT NULL, "position_id" BIGINT NOT NULL, "sense" TEXT COLLATE "C" NOT NULL, CONSTRAINT sense_map_sense CHECK (sense IN ('CW', 'CCW')))
--;
CREATE UNIQUE INDEX "sense_map_line_one_sense_map_id_position_id" ON "sense_map_line" ("sense_map_id", "position_id")
--;
CREATE TABLE "usage_reading" ("id" BIGINT NOT NULL PRIMARY KEY, "airframe_id" BIGINT NOT NULL, "minutes" BIGINT NOT NULL, "flights" BIGINT NOT NULL, "source" TEXT COLLATE "C" NOT NULL, "event_id" BIGINT NOT NULL)
--;
CREATE INDEX "usage_reading_by_airframe_id" ON "usage_reading" ("airframe_id")
--;
CREATE TABLE "tool" ("id" BIGINT NOT NULL PRIMARY KEY, "code" TEXT COLLATE "C" NOT NULL, "name" TEXT COLLATE "C" NOT NULL, "kind" TEXT COLLATE "C" NOT NULL, "min_mnm" BIGINT, "max_mnm" BIGINT, "resolution_ug" BIGINT, "uncertainty_ug" BIGINT, "repeatability_ug" BIGINT, "ruler_um" BIGINT, "calibrated_until_on" TEXT COLLATE "C", "active" BIGINT NOT NULL, CONSTRAINT tool_kind CHECK (kind IN ('torque', 'scale')))
--;
CREATE UNIQUE INDEX "tool_one_code" ON "tool" ("code")
--;
CREATE UNIQUE INDEX "tool_one_name" ON "tool" ("name")
--;
CREATE TABLE "lot" ("id" BIGINT NOT NULL PRIMARY KEY, "code" TEXT COLLATE "C" NOT NULL, "part_id" BIGINT NOT NULL, "maker_id" BIGINT NOT NULL, "supplier_id" BIGINT NOT NULL, "lot_code" TEXT COLLATE "C")
--;
CREATE UNIQUE INDEX "lot_one_code" ON "lot" ("code")
--;
CREATE UNIQUE INDEX "lot_one_part_id_maker_id_supplier_id_lot_code" ON "lot" ("part_id", "maker_id", "supplier_id", "lot_code") WHERE lot_code IS NOT NULL
--;
CREATE INDEX "lot_by_lot_code" ON "lot" ("lot_code")
--;
CREATE INDEX "lot_by_part_id" ON "lot" ("part_id")
--;
CREATE TABLE "delivery" ("id" BIGINT NOT NULL PRIMARY KEY, "code" TEXT COLLATE "C" NOT NULL, "supplier_id" BIGINT NOT NULL, "reference" TEXT COLLATE "C" NOT NULL, "is_opening" BIGINT NOT NULL, "event_id" BIGINT NOT NULL)
--;
CREATE UNIQUE INDEX "delivery_one_code" ON "delivery" ("code")
--;
CREATE TABLE "receipt_line" ("id" BIGINT NOT NULL PRIMARY KEY, "code" TEXT COLLATE "C" NOT NULL, "delivery_id" BIGINT NOT NULL, "lot_id" BIGINT NOT NULL, "part_id" BIGINT NOT NULL, "quantity" BIGINT NOT NULL, "unit" TEXT COLLATE "C" NOT NULL, "expiry_kind" TEXT COLLATE "C" NOT NULL, "expires_on" TEXT COLLATE "C", "made_on" TEXT COLLATE "C", "history_known" BIGINT NOT NULL, "raw_scan" TEXT COLLATE "C" NOT NULL, "event_id" BIGINT NOT NULL, CONSTRAINT receipt_quantity CHECK (quantity > 0), CONSTRAINT receipt_unit CHECK (unit IN ('pieces', 'volume_ul')), CONSTRAINT receipt_expiry CHECK ((expiry_kind = 'date' AND expires_on IS NOT NULL) OR (expiry_kind IN ('none', 'unknown') AND expires_on IS NULL)))
--;
CREATE UNIQUE INDEX "receipt_line_one_code" ON "receipt_line" ("code")
--;
CREATE INDEX "receipt_line_by_lot_id" ON "receipt_line" ("lot_id")
--;
CREATE INDEX "receipt_line_by_part_id" ON "receipt_line" ("part_id")
--;
CREATE TABLE "paper" ("id" BIGINT NOT NULL PRIMARY KEY, "receipt_line_id" BIGINT NOT NULL, "kind" TEXT COLLATE "C" NOT NULL, "number" TEXT COLLATE "C" NOT NULL, "issuer" TEXT COLLATE "C" NOT NULL, "event_id" BIGINT NOT NULL)
--;
CREATE INDEX "paper_by_receipt_line_id" ON "paper" ("receipt_line_id")
--;
CREATE TABLE "piece" ("id" BIGINT NOT NULL PRIMARY KEY, "code" TEXT COLLATE "C" NOT NULL, "receipt_line_id" BIGINT NOT NULL, "part_id" BIGINT NOT NULL, "maker_id" BIGINT NOT NULL, "serial" TEXT COLLATE "C", "pair_code" TEXT COLLATE "C" NOT NULL, "mark" TEXT COLLATE "C" NOT NULL, "sense" TEXT COLLATE "C", "mass_ug" BIGINT, "moment_g_um" BIGINT, "weighed_with_id" BIGINT, "opened_on" TEXT COLLATE "C", "expires_on" TEXT COLLATE "C", "note" TEXT COLLATE "C" NOT NULL, "event_id" BIGINT NOT NULL)
--;
CREATE UNIQUE INDEX "piece_one_code" ON "piece" ("code")
--;
CREATE UNIQUE INDEX "piece_one_maker_id_part_id_serial" ON "piece" ("maker_id", "part_id", "serial") WHERE serial IS NOT NULL
--;
CREATE INDEX "piece_by_receipt_line_id" ON "piece" ("receipt_line_id")
--;
CREATE INDEX "piece_by_serial" ON "piece" ("serial")
--;
CREATE TABLE "inspection" ("id" BIGINT NOT NULL PRIMARY KEY, "receipt_line_id" BIGINT, "piece_id" BIGINT, "rotor_set_id" BIGINT, "quantity" BIGINT NOT NULL, "result" TEXT COLLATE "C" NOT NULL, "mark" TEXT COLLATE "C" NOT NULL, "sense" TEXT COLLATE "C", "note" TEXT COLLATE "C" NOT NULL, "event_id" BIGINT NOT NULL, CONSTRAINT inspection_result CHECK (result IN ('accepted', 'held', 'rejected')))
--;
CREATE INDEX "inspection_by_receipt_line_id" ON "inspection" ("receipt_line_id")
--;
CREATE INDEX "inspection_by_piece_id" ON "inspection" ("piece_id")
--;
CREATE INDEX "inspection_by_rotor_set_id" ON "inspection" ("rotor_set_id")
--;
CREATE TABLE "rotor_set" ("id" BIGINT NOT NULL PRIMARY KEY, "code" TEXT COLLATE "C" NOT NULL, "place_id" BIGINT NOT NULL, "part_id" BIGINT NOT NULL, "sense" TEXT COLLATE "C" NOT NULL, "state" TEXT COLLATE "C" NOT NULL, "condition" TEXT COLLATE "C" NOT NULL, "match_record_id" BIGINT, "used_minutes" BIGINT, "used_flights" BIGINT, "used_since_on" TEXT COLLATE "C", "history_known" BIGINT NOT NULL, "bound_position_id" BIGINT, "rematches" BIGINT NOT NULL, "event_id" BIGINT NOT NULL, CONSTRAINT set_sense CHECK (sense IN ('CW', 'CCW')), CONSTRAINT set_state CHECK (state IN ('complete', 'broken')), CONSTRAINT set_condition CHECK (condition IN ('on hold', 'serviceable', 'unserviceable', 'unsalvageable')))
--;
CREATE UNIQUE INDEX "rotor_set_one_code" ON "rotor_set" ("code")
--;
CREATE INDEX "rotor_set_by_part_id" ON "rotor_set" ("part_id")
--;
CREATE INDEX "rotor_set_by_place_id" ON "rotor_set" ("place_id")
--;
CREATE TABLE "match_record" ("id" BIGINT NOT NULL PRIMARY KEY, "rotor_set_id" BIGINT NOT NULL, "method" TEXT COLLATE "C" NOT NULL, "source" TEXT COLLATE "C" NOT NULL, "tool_id" BIGINT, "tolerance_g_um" BIGINT, "tolerance_source" TEXT COLLATE "C" NOT NULL, "residual_g_um" BIGINT, "uncertainty_g_um" BIGINT, "tape" TEXT COLLATE "C" NOT NULL, "event_id" BIGINT NOT NULL, CONSTRAINT match_method CHECK (method IN ('supplier pairing', 'measured')))
--;
CREATE INDEX "match_record_by_rotor_set_id" ON "match_record" ("rotor_set_id")
--;
CREATE INDEX "match_record_by_tool_id" ON "match_record" ("tool_id")
--;
CREATE TABLE "match_reading" ("id" BIGINT NOT NULL PRIMARY KEY, "match_record_id" BIGINT NOT NULL, "piece_id" BIGINT NOT NULL, "slot" BIGINT NOT NULL, "moment_g_um" BIGINT)
--;
CREATE UNIQUE INDEX "match_reading_one_match_record_id_slot" ON "match_reading" ("match_record_id", "slot")
--;
CREATE INDEX "match_reading_by_piece_id" ON "match_reading" ("piece_id")
--;
CREATE TABLE "job" ("id" BIGINT NOT NULL PRIMARY KEY, "code" TEXT COLLATE "C" NOT NULL, "place_id" BIGINT NOT NULL, "airframe_id" BIGINT NOT NULL, "purpose" TEXT COLLATE "C" NOT NULL, "state" TEXT COLLATE "C" NOT NULL, "checked_event_id" BIGINT, "closed_event_id" BIGINT, "event_id" BIGINT NOT NULL, CONSTRAINT job_state CHECK (state IN ('open', 'closed')))
--;
CREATE UNIQUE INDEX "job_one_code" ON "job" ("code")
--;
CREATE INDEX "job_by_airframe_id_state" ON "job" ("airframe_id", "state")
--;
CREATE INDEX "job_by_state" ON "job" ("state")
--;
CREATE TABLE "job_position" ("id" BIGINT NOT NULL PRIMARY KEY, "job_id" BIGINT NOT NULL, "position_id" BIGINT NOT NULL, "state" TEXT COLLATE "C" NOT NULL, CONSTRAINT job_position_state CHECK (state IN ('to do', 'bare', 'not finished', 'fitted', 'inspected', 'walked')))
--;
CREATE UNIQUE INDEX "job_position_one_job_id_position_id" ON "job_position" ("job_id", "position_id")
--;
CREATE INDEX "job_position_by_position_id" ON "job_position" ("position_id")
--;
CREATE TABLE "kit" ("id" BIGINT NOT NULL PRIMARY KEY, "code" TEXT COLLATE "C" NOT NULL, "place_id" BIGINT NOT NULL, "type_revision_id" BIGINT NOT NULL, "settings_revision" BIGINT NOT NULL, "airframe_id" BIGINT, "job_id" BIGINT, "purpose" TEXT COLLATE "C" NOT NULL, "state" TEXT COLLATE "C" NOT NULL, "seal" TEXT COLLATE "C", "expires_on" TEXT COLLATE "C", "built_by_id" BIGINT NOT NULL, "checked_by_id" BIGINT, "event_id" BIGINT NOT NULL, CONSTRAINT kit_purpose CHECK (purpose IN ('full', 'make-good')), CONSTRAINT kit_state CHECK (state IN ('building', 'checked', 'sealed', 'issued', 'opened', 'dissolved')), CONSTRAINT kit_sealed_has_seal CHECK (state NOT IN ('sealed', 'issued') OR seal IS NOT NULL))
--;
CREATE UNIQUE INDEX "kit_one_code" ON "kit" ("code")
--;
CREATE UNIQUE INDEX "kit_one_seal" ON "kit" ("seal") WHERE seal IS NOT NULL
--;
CREATE INDEX "kit_by_state" ON "kit" ("state")
--;
CREATE TABLE "kit_position" ("id" BIGINT NOT NULL PRIMARY KEY, "kit_id" BIGINT NOT NULL, "type_position_id" BIGINT NOT NULL, "sense" TEXT COLLATE "C" NOT NULL, CONSTRAINT kit_position_sense CHECK (sense IN ('CW', 'CCW')))
--;
CREATE UNIQUE INDEX "kit_position_one_kit_id_type_position_id" ON "kit_position" ("kit_id", "type_position_id")
--;
CREATE TABLE "kit_line" ("id" BIGINT NOT NULL PRIMARY KEY, "kit_id" BIGINT NOT NULL, "rank" BIGINT NOT NULL, "kind" TEXT COLLATE "C" NOT NULL, "part_id" BIGINT NOT NULL, "sense" TEXT COLLATE "C", "quantity" BIGINT NOT NULL, "unit" TEXT COLLATE "C" NOT NULL, "hubs" BIGINT NOT NULL, "per_hub" BIGINT NOT NULL, CONSTRAINT kit_line_kind CHECK (kind IN ('rotor set', 'screw', 'washer', 'threadlocker', 'extra')), CONSTRAINT kit_line_quantity CHECK (quantity > 0))
--;
CREATE UNIQUE INDEX "kit_line_one_kit_id_rank" ON "kit_line" ("kit_id", "rank")
--;
CREATE TABLE "kit_pick" ("id" BIGINT NOT NULL PRIMARY KEY, "kit_id" BIGINT NOT NULL, "kit_line_id" BIGINT NOT NULL, "rotor_set_id" BIGINT, "receipt_line_id" BIGINT, "piece_id" BIGINT, "quantity" BIGINT NOT NULL, "type_position_id" BIGINT, "active" BIGINT NOT NULL, "event_id" BIGINT NOT NULL, CONSTRAINT kit_pick_is_one_thing CHECK ((rotor_set_id IS NULL) <> (receipt_line_id IS NULL)), CONSTRAINT kit_pick_quantity CHECK (quantity > 0))
--;
CREATE INDEX "kit_pick_by_kit_id" ON "kit_pick" ("kit_id")
--;
CREATE INDEX "kit_pick_by_rotor_set_id" ON "kit_pick" ("rotor_set_id")
--;
CREATE INDEX "kit_pick_by_receipt_line_id" ON "kit_pick" ("receipt_line_id")
--;
CREATE INDEX "kit_pick_by_piece_id" ON "kit_pick" ("piece_id")
--;
CREATE TABLE "reservation" ("id" BIGINT NOT NULL PRIMARY KEY, "job_id" BIGINT NOT NULL, "kit_id" BIGINT, "rotor_set_id" BIGINT, "until_on" TEXT COLLATE "C" NOT NULL, "state" TEXT COLLATE "C" NOT NULL, CONSTRAINT reservation_state CHECK (state IN ('active', 'released', 'used')), CONSTRAINT reservation_is_one_thing CHECK ((kit_id IS NULL) <> (rotor_set_id IS NULL)))
--;
CREATE INDEX "reservation_by_job_id" ON "reservation" ("job_id")
--;
CREATE INDEX "reservation_by_kit_id" ON "reservation" ("kit_id")
--;
CREATE INDEX "reservation_by_rotor_set_id" ON "reservation" ("rotor_set_id")
--;
CREATE TABLE "voucher" ("id" BIGINT NOT NULL PRIMARY KEY, "code" TEXT COLLATE "C" NOT NULL, "kit_id" BIGINT NOT NULL, "job_id" BIGINT NOT NULL, "airframe_id" BIGINT NOT NULL, "giver_id" BIGINT NOT NULL, "receiver_id" BIGINT NOT NULL, "state" TEXT COLLATE "C" NOT NULL, "event_id" BIGINT NOT NULL, CONSTRAINT voucher_state CHECK (state IN ('open', 'returned', 'reversed', 'closed')))
--;
CREATE UNIQUE INDEX "voucher_one_code" ON "voucher" ("code")
--;
CREATE UNIQUE INDEX "voucher_one_kit_id" ON "voucher" ("kit_id") WHERE state = 'open'
--;
CREATE INDEX "voucher_by_kit_id" ON "voucher" ("kit_id")
--;
CREATE INDEX "voucher_by_job_id" ON "voucher" ("job_id")
--;
CREATE TABLE "fit_record" ("id" BIGINT NOT NULL PRIMARY KEY, "job_id" BIGINT NOT NULL, "position_id" BIGINT NOT NULL, "rotor_set_id" BIGINT NOT NULL, "state" TEXT COLLATE "C" NOT NULL, "sense" TEXT COLLATE "C" NOT NULL, "mark" TEXT COLLATE "C" NOT NULL, "map_revision" BIGINT NOT NULL, "screw_line_id" BIGINT, "screws" BIGINT NOT NULL, "washer_line_id" BIGINT, "washers" BIGINT NOT NULL, "locker_line_id" BIGINT, "locker_ul" BIGINT NOT NULL, "torque_method" TEXT COLLATE "C" NOT NULL, "torque_mnm" BIGINT, "tool_id" BIGINT, "fitted_by_id" BIGINT NOT NULL, "inspected_by_id" BIGINT, "inspection" TEXT COLLATE "C" NOT NULL, "walked_by_id" BIGINT, "airframe_minutes" BIGINT, "airframe_flights" BIGINT, "is_transport_refit" BIGINT NOT NULL, "event_id" BIGINT NOT NULL, CONSTRAINT fit_state CHECK (state IN ('started', 'fastened', 'inspected', 'removed')), CONSTRAINT fit_inspection CHECK (inspection IN ('', 'second person', 're-inspection')), CONSTRAINT fit_sense CHECK (sense IN ('CW', 'CCW')))
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
CREATE TABLE "torque_record" ("id" BIGINT NOT NULL PRIMARY KEY, "position_id" BIGINT NOT NULL, "fit_record_id" BIGINT, "purpose" TEXT COLLATE "C" NOT NULL, "torque_method" TEXT COLLATE "C" NOT NULL, "torque_mnm" BIGINT, "tool_id" BIGINT, "airframe_minutes" BIGINT, "event_id" BIGINT NOT NULL, CONSTRAINT torque_purpose CHECK (purpose IN ('fit', 're-torque')))
--;
CREATE INDEX "torque_record_by_position_id" ON "torque_record" ("position_id")
--;
CREATE TABLE "removal" ("id" BIGINT NOT NULL PRIMARY KEY, "code" TEXT COLLATE "C" NOT NULL, "job_id" BIGINT NOT NULL, "airframe_id" BIGINT NOT NULL, "position_id" BIGINT NOT NULL, "rotor_set_id" BIGINT NOT NULL, "purpose" TEXT COLLATE "C" NOT NULL, "reason" TEXT COLLATE "C" NOT NULL, "sense_found" TEXT COLLATE "C" NOT NULL, "mark_found" TEXT COLLATE "C" NOT NULL, "used_minutes" BIGINT, "used_flights" BIGINT, "is_evidence" BIGINT NOT NULL, "event_id" BIGINT NOT NULL, CONSTRAINT removal_purpose CHECK (purpose IN ('replacement', 'transport', 'finding')), CONSTRAINT removal_sense CHECK (sense_found IN ('CW', 'CCW', '')))
--;
CREATE UNIQUE INDEX "removal_one_code" ON "removal" ("code")
--;
CREATE INDEX "removal_by_rotor_set_id_position_id" ON "removal" ("rotor_set_id", "position_id")
--;
CREATE INDEX "removal_by_position_id" ON "removal" ("position_id")
--;
CREATE TABLE "hold" ("id" BIGINT NOT NULL PRIMARY KEY, "code" TEXT COLLATE "C" NOT NULL, "scope" TEXT COLLATE "C" NOT NULL, "scope_text" TEXT COLLATE "C" NOT NULL, "lot_code" TEXT COLLATE "C" NOT NULL, "reason" TEXT COLLATE "C" NOT NULL, "reference" TEXT COLLATE "C" NOT NULL, "is_recall" BIGINT NOT NULL, "is_evidence" BIGINT NOT NULL, "placed_event_id" BIGINT NOT NULL, "released_event_id" BIGINT, "release_reference" TEXT COLLATE "C" NOT NULL, CONSTRAINT hold_scope_is_known CHECK (scope IN ('lot', 'receipt line', 'piece', 'rotor set', 'kit', 'maker lot', 'serials', 'supplier', 'maker', 'scale', 'airframe')))
--;
CREATE UNIQUE INDEX "hold_one_code" ON "hold" ("code")
--;
CREATE TABLE "hold_item" ("id" BIGINT NOT NULL PRIMARY KEY, "hold_id" BIGINT NOT NULL, "receipt_line_id" BIGINT, "piece_id" BIGINT, "rotor_set_id" BIGINT, "kit_id" BIGINT, "released_event_id" BIGINT)
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
CREATE TABLE "finding" ("id" BIGINT NOT NULL PRIMARY KEY, "airframe_id" BIGINT, "position_id" BIGINT, "rotor_set_id" BIGINT, "job_id" BIGINT, "text" TEXT COLLATE "C" NOT NULL, "settled_event_id" BIGINT, "settlement" TEXT COLLATE "C" NOT NULL, "event_id" BIGINT NOT NULL)
--;
CREATE INDEX "finding_by_airframe_id" ON "finding" ("airframe_id")
--;
CREATE INDEX "finding_by_job_id" ON "finding" ("job_id")
--;
CREATE TABLE "stock_count" ("id" BIGINT NOT NULL PRIMARY KEY, "code" TEXT COLLATE "C" NOT NULL, "place_id" BIGINT NOT NULL, "state" TEXT COLLATE "C" NOT NULL, "counted_by_id" BIGINT, "event_id" BIGINT NOT NULL, CONSTRAINT count_state CHECK (state IN ('open', 'counted', 'settled')))
--;
CREATE UNIQUE INDEX "stock_count_one_code" ON "stock_count" ("code")
--;
CREATE TABLE "count_line" ("id" BIGINT NOT NULL PRIMARY KEY, "stock_count_id" BIGINT NOT NULL, "receipt_line_id" BIGINT, "piece_id" BIGINT, "container_id" BIGINT, "condition" TEXT COLLATE "C" NOT NULL, "booked" BIGINT NOT NULL, "counted" BIGINT, "recounted" BIGINT)
--;
CREATE INDEX "count_line_by_stock_count_id" ON "count_line" ("stock_count_id")
--;
CREATE TABLE "occurrence" ("id" BIGINT NOT NULL PRIMARY KEY, "airframe_id" BIGINT NOT NULL, "text" TEXT COLLATE "C" NOT NULL, "happened_at" TEXT COLLATE "C" NOT NULL, "event_id" BIGINT NOT NULL)
--;
CREATE TABLE "label_print" ("id" BIGINT NOT NULL PRIMARY KEY, "subject" TEXT COLLATE "C" NOT NULL, "copy_number" BIGINT NOT NULL, "stock" TEXT COLLATE "C" NOT NULL, "event_id" BIGINT NOT NULL)
--;
CREATE INDEX "label_print_by_subject" ON "label_print" ("subject")
--;
CREATE TABLE "label_void" ("id" BIGINT NOT NULL PRIMARY KEY, "label_print_id" BIGINT NOT NULL, "reason" TEXT COLLATE "C" NOT NULL, "event_id" BIGINT NOT NULL)
--;
CREATE UNIQUE INDEX "label_void_one_label_print_id" ON "label_void" ("label_print_id")
--;
CREATE TABLE "override" ("id" BIGINT NOT NULL PRIMARY KEY, "kind" TEXT COLLATE "C" NOT NULL, "subject" TEXT COLLATE "C" NOT NULL, "reason" TEXT COLLATE "C" NOT NULL, "event_id" BIGINT NOT NULL, CONSTRAINT override_kind CHECK (kind IN ('other airframe', 'refit elsewhere', 'shelf life extended')))
--;
CREATE TABLE "alone_declaration" ("id" BIGINT NOT NULL PRIMARY KEY, "person_id" BIGINT NOT NULL, "job_id" BIGINT, "from_on" TEXT COLLATE "C" NOT NULL, "until_on" TEXT COLLATE "C" NOT NULL, "reason" TEXT COLLATE "C" NOT NULL, "event_id" BIGINT NOT NULL)
--;
CREATE TABLE "setting_change" ("id" BIGINT NOT NULL PRIMARY KEY, "subject" TEXT COLLATE "C" NOT NULL, "name" TEXT COLLATE "C" NOT NULL, "old" TEXT COLLATE "C" NOT NULL, "new" TEXT COLLATE "C" NOT NULL, "source" TEXT COLLATE "C" NOT NULL, "event_id" BIGINT NOT NULL)
--;
CREATE TABLE "acknowledgement" ("id" BIGINT NOT NULL PRIMARY KEY, "person_id" BIGINT NOT NULL, "what" TEXT COLLATE "C" NOT NULL, "event_id" BIGINT NOT NULL)
--;
CREATE UNIQUE INDEX "acknowledgement_one_person_id_what" ON "acknowledgement" ("person_id", "what")
--;
CREATE TABLE "credential" ("id" BIGINT NOT NULL PRIMARY KEY, "person_id" BIGINT NOT NULL, "method" TEXT COLLATE "C" NOT NULL, "cost_n" BIGINT NOT NULL, "block_r" BIGINT NOT NULL, "parallel_p" BIGINT NOT NULL, "salt" TEXT COLLATE "C" NOT NULL, "digest" TEXT COLLATE "C" NOT NULL, "failures" BIGINT NOT NULL, "locked_until_at" TEXT COLLATE "C", CONSTRAINT credential_method CHECK (method IN ('scrypt')), CONSTRAINT credential_cost CHECK (cost_n BETWEEN 2 AND 1048576 AND block_r BETWEEN 1 AND 32 AND parallel_p BETWEEN 1 AND 16), CONSTRAINT credential_failures CHECK (failures >= 0))
--;
CREATE UNIQUE INDEX "credential_one_person_id" ON "credential" ("person_id")
--;
CREATE TABLE "movement" ("id" BIGINT NOT NULL PRIMARY KEY, "event_id" BIGINT NOT NULL, "receipt_line_id" BIGINT, "container_id" BIGINT, "quantity" BIGINT NOT NULL, "from_place_id" BIGINT, "from_condition" TEXT COLLATE "C" NOT NULL, "from_piece_id" BIGINT, "to_place_id" BIGINT NOT NULL, "to_condition" TEXT COLLATE "C" NOT NULL, "to_piece_id" BIGINT, CONSTRAINT movement_is_one_thing CHECK ((receipt_line_id IS NULL) <> (container_id IS NULL)), CONSTRAINT movement_quantity CHECK (quantity > 0 AND (container_id IS NULL OR quantity = 1)), CONSTRAINT movement_of_stock_has_conditions CHECK ((receipt_line_id IS NULL) = (from_condition = '') AND (receipt_line_id IS NULL) = (to_condition = '')), CONSTRAINT movement_goes_somewhere CHECK (from_place_id IS NULL OR from_place_id <> to_place_id OR from_condition <> to_condition OR coalesce(from_piece_id, 0) <> coalesce(to_piece_id, 0)), CONSTRAINT movement_of_stock_has_source CHECK (from_place_id IS NOT NULL OR container_id IS NOT NULL))
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
CREATE TABLE "holding" ("id" BIGINT NOT NULL PRIMARY KEY, "receipt_line_id" BIGINT NOT NULL, "piece_id" BIGINT, "place_id" BIGINT NOT NULL, "condition" TEXT COLLATE "C" NOT NULL, "quantity" BIGINT NOT NULL)
--;
CREATE UNIQUE INDEX "holding_one_receipt_line_id_place_id_condition" ON "holding" ("receipt_line_id", "place_id", "condition") WHERE piece_id IS NULL
--;
CREATE UNIQUE INDEX "holding_one_piece_id" ON "holding" ("piece_id") WHERE piece_id IS NOT NULL
--;
CREATE INDEX "holding_by_place_id" ON "holding" ("place_id")
--;
CREATE INDEX "holding_by_receipt_line_id_place_id" ON "holding" ("receipt_line_id", "place_id")
--;
CREATE TABLE "containment" ("id" BIGINT NOT NULL PRIMARY KEY, "container_id" BIGINT NOT NULL, "inside_id" BIGINT NOT NULL)
--;
CREATE UNIQUE INDEX "containment_one_container_id" ON "containment" ("container_id")
--;
CREATE INDEX "containment_by_inside_id" ON "containment" ("inside_id")
--;
ALTER TABLE "event" ADD CONSTRAINT "event_refers_by_id" FOREIGN KEY ("by_id") REFERENCES "person" ("id")
--;
ALTER TABLE "event" ADD CONSTRAINT "event_refers_second_id" FOREIGN KEY ("second_id") REFERENCES "person" ("id")
--;
ALTER TABLE "person" ADD CONSTRAINT "person_refers_same_human_as_id" FOREIGN KEY ("same_human_as_id") REFERENCES "person" ("id")
--;
ALTER TABLE "person" ADD CONSTRAINT "person_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED
--;
ALTER TABLE "person_role" ADD CONSTRAINT "person_role_refers_person_id" FOREIGN KEY ("person_id") REFERENCES "person" ("id")
--;
ALTER TABLE "place" ADD CONSTRAINT "place_refers_site_id" FOREIGN KEY ("site_id") REFERENCES "site" ("id")
--;
ALTER TABLE "place" ADD CONSTRAINT "place_refers_person_id" FOREIGN KEY ("person_id") REFERENCES "person" ("id")
--;
ALTER TABLE "part" ADD CONSTRAINT "part_refers_maker_id" FOREIGN KEY ("maker_id") REFERENCES "company" ("id")
--;
ALTER TABLE "part" ADD CONSTRAINT "part_refers_hub_part_id" FOREIGN KEY ("hub_part_id") REFERENCES "part" ("id")
--;
ALTER TABLE "part" ADD CONSTRAINT "part_refers_superseded_by_id" FOREIGN KEY ("superseded_by_id") REFERENCES "part" ("id")
--;
ALTER TABLE "part_mark" ADD CONSTRAINT "part_mark_refers_part_id" FOREIGN KEY ("part_id") REFERENCES "part" ("id")
--;
ALTER TABLE "type_revision" ADD CONSTRAINT "type_revision_refers_airframe_type_id" FOREIGN KEY ("airframe_type_id") REFERENCES "airframe_type" ("id")
--;
ALTER TABLE "hub_fixing" ADD CONSTRAINT "hub_fixing_refers_type_revision_id" FOREIGN KEY ("type_revision_id") REFERENCES "type_revision" ("id")
--;
ALTER TABLE "hub_fixing" ADD CONSTRAINT "hub_fixing_refers_screw_part_id" FOREIGN KEY ("screw_part_id") REFERENCES "part" ("id")
--;
ALTER TABLE "hub_fixing" ADD CONSTRAINT "hub_fixing_refers_washer_part_id" FOREIGN KEY ("washer_part_id") REFERENCES "part" ("id")
--;
ALTER TABLE "hub_fixing" ADD CONSTRAINT "hub_fixing_refers_locker_part_id" FOREIGN KEY ("locker_part_id") REFERENCES "part" ("id")
--;
ALTER TABLE "type_position" ADD CONSTRAINT "type_position_refers_type_revision_id" FOREIGN KEY ("type_revision_id") REFERENCES "type_revision" ("id")
--;
ALTER TABLE "type_position" ADD CONSTRAINT "type_position_refers_hub_fixing_id" FOREIGN KEY ("hub_fixing_id") REFERENCES "hub_fixing" ("id")
--;
ALTER TABLE "approved_part" ADD CONSTRAINT "approved_part_refers_type_position_id" FOREIGN KEY ("type_position_id") REFERENCES "type_position" ("id")
--;
ALTER TABLE "approved_part" ADD CONSTRAINT "approved_part_refers_part_id" FOREIGN KEY ("part_id") REFERENCES "part" ("id")
--;
ALTER TABLE "position_group" ADD CONSTRAINT "position_group_refers_type_revision_id" FOREIGN KEY ("type_revision_id") REFERENCES "type_revision" ("id")
--;
ALTER TABLE "position_group" ADD CONSTRAINT "position_group_refers_type_position_id" FOREIGN KEY ("type_position_id") REFERENCES "type_position" ("id")
--;
ALTER TABLE "kit_list_line" ADD CONSTRAINT "kit_list_line_refers_type_revision_id" FOREIGN KEY ("type_revision_id") REFERENCES "type_revision" ("id")
--;
ALTER TABLE "kit_list_line" ADD CONSTRAINT "kit_list_line_refers_part_id" FOREIGN KEY ("part_id") REFERENCES "part" ("id")
--;
ALTER TABLE "airframe" ADD CONSTRAINT "airframe_refers_type_revision_id" FOREIGN KEY ("type_revision_id") REFERENCES "type_revision" ("id")
--;
ALTER TABLE "airframe" ADD CONSTRAINT "airframe_refers_place_id" FOREIGN KEY ("place_id") REFERENCES "place" ("id")
--;
ALTER TABLE "airframe" ADD CONSTRAINT "airframe_refers_sense_map_id" FOREIGN KEY ("sense_map_id") REFERENCES "sense_map" ("id")
--;
ALTER TABLE "airframe" ADD CONSTRAINT "airframe_refers_owner_id" FOREIGN KEY ("owner_id") REFERENCES "company" ("id")
--;
ALTER TABLE "position" ADD CONSTRAINT "position_refers_airframe_id" FOREIGN KEY ("airframe_id") REFERENCES "airframe" ("id")
--;
ALTER TABLE "position" ADD CONSTRAINT "position_refers_type_position_id" FOREIGN KEY ("type_position_id") REFERENCES "type_position" ("id")
--;
ALTER TABLE "position" ADD CONSTRAINT "position_refers_place_id" FOREIGN KEY ("place_id") REFERENCES "place" ("id")
--;
ALTER TABLE "sense_map" ADD CONSTRAINT "sense_map_refers_airframe_id" FOREIGN KEY ("airframe_id") REFERENCES "airframe" ("id")
--;
ALTER TABLE "sense_map" ADD CONSTRAINT "sense_map_refers_verified_event_id" FOREIGN KEY ("verified_event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED
--;
ALTER TABLE "sense_map" ADD CONSTRAINT "sense_map_refers_cleared_event_id" FOREIGN KEY ("cleared_event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED
--;
ALTER TABLE "sense_map" ADD CONSTRAINT "sense_map_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED
--;
ALTER TABLE "sense_map_line" ADD CONSTRAINT "sense_map_line_refers_sense_map_id" FOREIGN KEY ("sense_map_id") REFERENCES "sense_map" ("id")
--;
ALTER TABLE "sense_map_line" ADD CONSTRAINT "sense_map_line_refers_position_id" FOREIGN KEY ("position_id") REFERENCES "position" ("id")
--;
ALTER TABLE "usage_reading" ADD CONSTRAINT "usage_reading_refers_airframe_id" FOREIGN KEY ("airframe_id") REFERENCES "airframe" ("id")
--;
ALTER TABLE "usage_reading" ADD CONSTRAINT "usage_reading_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED
--;
ALTER TABLE "lot" ADD CONSTRAINT "lot_refers_part_id" FOREIGN KEY ("part_id") REFERENCES "part" ("id")
--;
ALTER TABLE "lot" ADD CONSTRAINT "lot_refers_maker_id" FOREIGN KEY ("maker_id") REFERENCES "company" ("id")
--;
ALTER TABLE "lot" ADD CONSTRAINT "lot_refers_supplier_id" FOREIGN KEY ("supplier_id") REFERENCES "company" ("id")
--;
ALTER TABLE "delivery" ADD CONSTRAINT "delivery_refers_supplier_id" FOREIGN KEY ("supplier_id") REFERENCES "company" ("id")
--;
ALTER TABLE "delivery" ADD CONSTRAINT "delivery_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED
--;
ALTER TABLE "receipt_line" ADD CONSTRAINT "receipt_line_refers_delivery_id" FOREIGN KEY ("delivery_id") REFERENCES "delivery" ("id")
--;
ALTER TABLE "receipt_line" ADD CONSTRAINT "receipt_line_refers_lot_id" FOREIGN KEY ("lot_id") REFERENCES "lot" ("id")
--;
ALTER TABLE "receipt_line" ADD CONSTRAINT "receipt_line_refers_part_id" FOREIGN KEY ("part_id") REFERENCES "part" ("id")
--;
ALTER TABLE "receipt_line" ADD CONSTRAINT "receipt_line_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED
--;
ALTER TABLE "paper" ADD CONSTRAINT "paper_refers_receipt_line_id" FOREIGN KEY ("receipt_line_id") REFERENCES "receipt_line" ("id")
--;
ALTER TABLE "paper" ADD CONSTRAINT "paper_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED
--;
ALTER TABLE "piece" ADD CONSTRAINT "piece_refers_receipt_line_id" FOREIGN KEY ("receipt_line_id") REFERENCES "receipt_line" ("id")
--;
ALTER TABLE "piece" ADD CONSTRAINT "piece_refers_part_id" FOREIGN KEY ("part_id") REFERENCES "part" ("id")
--;
ALTER TABLE "piece" ADD CONSTRAINT "piece_refers_maker_id" FOREIGN KEY ("maker_id") REFERENCES "company" ("id")
--;
ALTER TABLE "piece" ADD CONSTRAINT "piece_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED
--;
ALTER TABLE "inspection" ADD CONSTRAINT "inspection_refers_receipt_line_id" FOREIGN KEY ("receipt_line_id") REFERENCES "receipt_line" ("id")
--;
ALTER TABLE "inspection" ADD CONSTRAINT "inspection_refers_piece_id" FOREIGN KEY ("piece_id") REFERENCES "piece" ("id")
--;
ALTER TABLE "inspection" ADD CONSTRAINT "inspection_refers_rotor_set_id" FOREIGN KEY ("rotor_set_id") REFERENCES "rotor_set" ("id")
--;
ALTER TABLE "inspection" ADD CONSTRAINT "inspection_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED
--;
ALTER TABLE "rotor_set" ADD CONSTRAINT "rotor_set_refers_place_id" FOREIGN KEY ("place_id") REFERENCES "place" ("id")
--;
ALTER TABLE "rotor_set" ADD CONSTRAINT "rotor_set_refers_part_id" FOREIGN KEY ("part_id") REFERENCES "part" ("id")
--;
ALTER TABLE "rotor_set" ADD CONSTRAINT "rotor_set_refers_match_record_id" FOREIGN KEY ("match_record_id") REFERENCES "match_record" ("id")
--;
ALTER TABLE "rotor_set" ADD CONSTRAINT "rotor_set_refers_bound_position_id" FOREIGN KEY ("bound_position_id") REFERENCES "position" ("id")
--;
ALTER TABLE "rotor_set" ADD CONSTRAINT "rotor_set_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED
--;
ALTER TABLE "match_record" ADD CONSTRAINT "match_record_refers_rotor_set_id" FOREIGN KEY ("rotor_set_id") REFERENCES "rotor_set" ("id")
--;
ALTER TABLE "match_record" ADD CONSTRAINT "match_record_refers_tool_id" FOREIGN KEY ("tool_id") REFERENCES "tool" ("id")
--;
ALTER TABLE "match_record" ADD CONSTRAINT "match_record_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED
--;
ALTER TABLE "match_reading" ADD CONSTRAINT "match_reading_refers_match_record_id" FOREIGN KEY ("match_record_id") REFERENCES "match_record" ("id")
--;
ALTER TABLE "match_reading" ADD CONSTRAINT "match_reading_refers_piece_id" FOREIGN KEY ("piece_id") REFERENCES "piece" ("id")
--;
ALTER TABLE "job" ADD CONSTRAINT "job_refers_place_id" FOREIGN KEY ("place_id") REFERENCES "place" ("id")
--;
ALTER TABLE "job" ADD CONSTRAINT "job_refers_airframe_id" FOREIGN KEY ("airframe_id") REFERENCES "airframe" ("id")
--;
ALTER TABLE "job" ADD CONSTRAINT "job_refers_checked_event_id" FOREIGN KEY ("checked_event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED
--;
ALTER TABLE "job" ADD CONSTRAINT "job_refers_closed_event_id" FOREIGN KEY ("closed_event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED
--;
ALTER TABLE "job" ADD CONSTRAINT "job_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED
--;
ALTER TABLE "job_position" ADD CONSTRAINT "job_position_refers_job_id" FOREIGN KEY ("job_id") REFERENCES "job" ("id")
--;
ALTER TABLE "job_position" ADD CONSTRAINT "job_position_refers_position_id" FOREIGN KEY ("position_id") REFERENCES "position" ("id")
--;
ALTER TABLE "kit" ADD CONSTRAINT "kit_refers_place_id" FOREIGN KEY ("place_id") REFERENCES "place" ("id")
--;
ALTER TABLE "kit" ADD CONSTRAINT "kit_refers_type_revision_id" FOREIGN KEY ("type_revision_id") REFERENCES "type_revision" ("id")
--;
ALTER TABLE "kit" ADD CONSTRAINT "kit_refers_airframe_id" FOREIGN KEY ("airframe_id") REFERENCES "airframe" ("id")
--;
ALTER TABLE "kit" ADD CONSTRAINT "kit_refers_job_id" FOREIGN KEY ("job_id") REFERENCES "job" ("id")
--;
ALTER TABLE "kit" ADD CONSTRAINT "kit_refers_built_by_id" FOREIGN KEY ("built_by_id") REFERENCES "person" ("id")
--;
ALTER TABLE "kit" ADD CONSTRAINT "kit_refers_checked_by_id" FOREIGN KEY ("checked_by_id") REFERENCES "person" ("id")
--;
ALTER TABLE "kit" ADD CONSTRAINT "kit_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED
--;
ALTER TABLE "kit_position" ADD CONSTRAINT "kit_position_refers_kit_id" FOREIGN KEY ("kit_id") REFERENCES "kit" ("id")
--;
ALTER TABLE "kit_position" ADD CONSTRAINT "kit_position_refers_type_position_id" FOREIGN KEY ("type_position_id") REFERENCES "type_position" ("id")
--;
ALTER TABLE "kit_line" ADD CONSTRAINT "kit_line_refers_kit_id" FOREIGN KEY ("kit_id") REFERENCES "kit" ("id")
--;
ALTER TABLE "kit_line" ADD CONSTRAINT "kit_line_refers_part_id" FOREIGN KEY ("part_id") REFERENCES "part" ("id")
--;
ALTER TABLE "kit_pick" ADD CONSTRAINT "kit_pick_refers_kit_id" FOREIGN KEY ("kit_id") REFERENCES "kit" ("id")
--;
ALTER TABLE "kit_pick" ADD CONSTRAINT "kit_pick_refers_kit_line_id" FOREIGN KEY ("kit_line_id") REFERENCES "kit_line" ("id")
--;
ALTER TABLE "kit_pick" ADD CONSTRAINT "kit_pick_refers_rotor_set_id" FOREIGN KEY ("rotor_set_id") REFERENCES "rotor_set" ("id")
--;
ALTER TABLE "kit_pick" ADD CONSTRAINT "kit_pick_refers_receipt_line_id" FOREIGN KEY ("receipt_line_id") REFERENCES "receipt_line" ("id")
--;
ALTER TABLE "kit_pick" ADD CONSTRAINT "kit_pick_refers_piece_id" FOREIGN KEY ("piece_id") REFERENCES "piece" ("id")
--;
ALTER TABLE "kit_pick" ADD CONSTRAINT "kit_pick_refers_type_position_id" FOREIGN KEY ("type_position_id") REFERENCES "type_position" ("id")
--;
ALTER TABLE "kit_pick" ADD CONSTRAINT "kit_pick_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED
--;
ALTER TABLE "reservation" ADD CONSTRAINT "reservation_refers_job_id" FOREIGN KEY ("job_id") REFERENCES "job" ("id")
--;
ALTER TABLE "reservation" ADD CONSTRAINT "reservation_refers_kit_id" FOREIGN KEY ("kit_id") REFERENCES "kit" ("id")
--;
ALTER TABLE "reservation" ADD CONSTRAINT "reservation_refers_rotor_set_id" FOREIGN KEY ("rotor_set_id") REFERENCES "rotor_set" ("id")
--;
ALTER TABLE "voucher" ADD CONSTRAINT "voucher_refers_kit_id" FOREIGN KEY ("kit_id") REFERENCES "kit" ("id")
--;
ALTER TABLE "voucher" ADD CONSTRAINT "voucher_refers_job_id" FOREIGN KEY ("job_id") REFERENCES "job" ("id")
--;
ALTER TABLE "voucher" ADD CONSTRAINT "voucher_refers_airframe_id" FOREIGN KEY ("airframe_id") REFERENCES "airframe" ("id")
--;
ALTER TABLE "voucher" ADD CONSTRAINT "voucher_refers_giver_id" FOREIGN KEY ("giver_id") REFERENCES "person" ("id")
--;
ALTER TABLE "voucher" ADD CONSTRAINT "voucher_refers_receiver_id" FOREIGN KEY ("receiver_id") REFERENCES "person" ("id")
--;
ALTER TABLE "voucher" ADD CONSTRAINT "voucher_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED
--;
ALTER TABLE "fit_record" ADD CONSTRAINT "fit_record_refers_job_id" FOREIGN KEY ("job_id") REFERENCES "job" ("id")
--;
ALTER TABLE "fit_record" ADD CONSTRAINT "fit_record_refers_position_id" FOREIGN KEY ("position_id") REFERENCES "position" ("id")
--;
ALTER TABLE "fit_record" ADD CONSTRAINT "fit_record_refers_rotor_set_id" FOREIGN KEY ("rotor_set_id") REFERENCES "rotor_set" ("id")
--;
ALTER TABLE "fit_record" ADD CONSTRAINT "fit_record_refers_screw_line_id" FOREIGN KEY ("screw_line_id") REFERENCES "receipt_line" ("id")
--;
ALTER TABLE "fit_record" ADD CONSTRAINT "fit_record_refers_washer_line_id" FOREIGN KEY ("washer_line_id") REFERENCES "receipt_line" ("id")
--;
ALTER TABLE "fit_record" ADD CONSTRAINT "fit_record_refers_locker_line_id" FOREIGN KEY ("locker_line_id") REFERENCES "receipt_line" ("id")
--;
ALTER TABLE "fit_record" ADD CONSTRAINT "fit_record_refers_tool_id" FOREIGN KEY ("tool_id") REFERENCES "tool" ("id")
--;
ALTER TABLE "fit_record" ADD CONSTRAINT "fit_record_refers_fitted_by_id" FOREIGN KEY ("fitted_by_id") REFERENCES "person" ("id")
--;
ALTER TABLE "fit_record" ADD CONSTRAINT "fit_record_refers_inspected_by_id" FOREIGN KEY ("inspected_by_id") REFERENCES "person" ("id")
--;
ALTER TABLE "fit_record" ADD CONSTRAINT "fit_record_refers_walked_by_id" FOREIGN KEY ("walked_by_id") REFERENCES "person" ("id")
--;
ALTER TABLE "fit_record" ADD CONSTRAINT "fit_record_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED
--;
ALTER TABLE "torque_record" ADD CONSTRAINT "torque_record_refers_position_id" FOREIGN KEY ("position_id") REFERENCES "position" ("id")
--;
ALTER TABLE "torque_record" ADD CONSTRAINT "torque_record_refers_fit_record_id" FOREIGN KEY ("fit_record_id") REFERENCES "fit_record" ("id")
--;
ALTER TABLE "torque_record" ADD CONSTRAINT "torque_record_refers_tool_id" FOREIGN KEY ("tool_id") REFERENCES "tool" ("id")
--;
ALTER TABLE "torque_record" ADD CONSTRAINT "torque_record_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED
--;
ALTER TABLE "removal" ADD CONSTRAINT "removal_refers_job_id" FOREIGN KEY ("job_id") REFERENCES "job" ("id")
--;
ALTER TABLE "removal" ADD CONSTRAINT "removal_refers_airframe_id" FOREIGN KEY ("airframe_id") REFERENCES "airframe" ("id")
--;
ALTER TABLE "removal" ADD CONSTRAINT "removal_refers_position_id" FOREIGN KEY ("position_id") REFERENCES "position" ("id")
--;
ALTER TABLE "removal" ADD CONSTRAINT "removal_refers_rotor_set_id" FOREIGN KEY ("rotor_set_id") REFERENCES "rotor_set" ("id")
--;
ALTER TABLE "removal" ADD CONSTRAINT "removal_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED
--;
ALTER TABLE "hold" ADD CONSTRAINT "hold_refers_placed_event_id" FOREIGN KEY ("placed_event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED
--;
ALTER TABLE "hold" ADD CONSTRAINT "hold_refers_released_event_id" FOREIGN KEY ("released_event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED
--;
ALTER TABLE "hold_item" ADD CONSTRAINT "hold_item_refers_hold_id" FOREIGN KEY ("hold_id") REFERENCES "hold" ("id")
--;
ALTER TABLE "hold_item" ADD CONSTRAINT "hold_item_refers_receipt_line_id" FOREIGN KEY ("receipt_line_id") REFERENCES "receipt_line" ("id")
--;
ALTER TABLE "hold_item" ADD CONSTRAINT "hold_item_refers_piece_id" FOREIGN KEY ("piece_id") REFERENCES "piece" ("id")
--;
ALTER TABLE "hold_item" ADD CONSTRAINT "hold_item_refers_rotor_set_id" FOREIGN KEY ("rotor_set_id") REFERENCES "rotor_set" ("id")
--;
ALTER TABLE "hold_item" ADD CONSTRAINT "hold_item_refers_kit_id" FOREIGN KEY ("kit_id") REFERENCES "kit" ("id")
--;
ALTER TABLE "hold_item" ADD CONSTRAINT "hold_item_refers_released_event_id" FOREIGN KEY ("released_event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED
--;
ALTER TABLE "finding" ADD CONSTRAINT "finding_refers_airframe_id" FOREIGN KEY ("airframe_id") REFERENCES "airframe" ("id")
--;
ALTER TABLE "finding" ADD CONSTRAINT "finding_refers_position_id" FOREIGN KEY ("position_id") REFERENCES "position" ("id")
--;
ALTER TABLE "finding" ADD CONSTRAINT "finding_refers_rotor_set_id" FOREIGN KEY ("rotor_set_id") REFERENCES "rotor_set" ("id")
--;
ALTER TABLE "finding" ADD CONSTRAINT "finding_refers_job_id" FOREIGN KEY ("job_id") REFERENCES "job" ("id")
--;
ALTER TABLE "finding" ADD CONSTRAINT "finding_refers_settled_event_id" FOREIGN KEY ("settled_event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED
--;
ALTER TABLE "finding" ADD CONSTRAINT "finding_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED
--;
ALTER TABLE "stock_count" ADD CONSTRAINT "stock_count_refers_place_id" FOREIGN KEY ("place_id") REFERENCES "place" ("id")
--;
ALTER TABLE "stock_count" ADD CONSTRAINT "stock_count_refers_counted_by_id" FOREIGN KEY ("counted_by_id") REFERENCES "person" ("id")
--;
ALTER TABLE "stock_count" ADD CONSTRAINT "stock_count_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED
--;
ALTER TABLE "count_line" ADD CONSTRAINT "count_line_refers_stock_count_id" FOREIGN KEY ("stock_count_id") REFERENCES "stock_count" ("id")
--;
ALTER TABLE "count_line" ADD CONSTRAINT "count_line_refers_receipt_line_id" FOREIGN KEY ("receipt_line_id") REFERENCES "receipt_line" ("id")
--;
ALTER TABLE "count_line" ADD CONSTRAINT "count_line_refers_piece_id" FOREIGN KEY ("piece_id") REFERENCES "piece" ("id")
--;
ALTER TABLE "count_line" ADD CONSTRAINT "count_line_refers_container_id" FOREIGN KEY ("container_id") REFERENCES "place" ("id")
--;
ALTER TABLE "occurrence" ADD CONSTRAINT "occurrence_refers_airframe_id" FOREIGN KEY ("airframe_id") REFERENCES "airframe" ("id")
--;
ALTER TABLE "occurrence" ADD CONSTRAINT "occurrence_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED
--;
ALTER TABLE "label_print" ADD CONSTRAINT "label_print_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED
--;
ALTER TABLE "label_void" ADD CONSTRAINT "label_void_refers_label_print_id" FOREIGN KEY ("label_print_id") REFERENCES "label_print" ("id")
--;
ALTER TABLE "label_void" ADD CONSTRAINT "label_void_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED
--;
ALTER TABLE "override" ADD CONSTRAINT "override_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED
--;
ALTER TABLE "alone_declaration" ADD CONSTRAINT "alone_declaration_refers_person_id" FOREIGN KEY ("person_id") REFERENCES "person" ("id")
--;
ALTER TABLE "alone_declaration" ADD CONSTRAINT "alone_declaration_refers_job_id" FOREIGN KEY ("job_id") REFERENCES "job" ("id")
--;
ALTER TABLE "alone_declaration" ADD CONSTRAINT "alone_declaration_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED
--;
ALTER TABLE "setting_change" ADD CONSTRAINT "setting_change_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED
--;
ALTER TABLE "acknowledgement" ADD CONSTRAINT "acknowledgement_refers_person_id" FOREIGN KEY ("person_id") REFERENCES "person" ("id")
--;
ALTER TABLE "acknowledgement" ADD CONSTRAINT "acknowledgement_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED
--;
ALTER TABLE "credential" ADD CONSTRAINT "credential_refers_person_id" FOREIGN KEY ("person_id") REFERENCES "person" ("id")
--;
ALTER TABLE "movement" ADD CONSTRAINT "movement_refers_event_id" FOREIGN KEY ("event_id") REFERENCES "event" ("id") DEFERRABLE INITIALLY DEFERRED
--;
ALTER TABLE "movement" ADD CONSTRAINT "movement_refers_receipt_line_id" FOREIGN KEY ("receipt_line_id") REFERENCES "receipt_line" ("id")
--;
ALTER TABLE "movement" ADD CONSTRAINT "movement_refers_container_id" FOREIGN KEY ("container_id") REFERENCES "place" ("id")
--;
ALTER TABLE "movement" ADD CONSTRAINT "movement_refers_from_place_id" FOREIGN KEY ("from_place_id") REFERENCES "place" ("id")
--;
ALTER TABLE "movement" ADD CONSTRAINT "movement_refers_from_piece_id" FOREIGN KEY ("from_piece_id") REFERENCES "piece" ("id")
--;
ALTER TABLE "movement" ADD CONSTRAINT "movement_refers_to_place_id" FOREIGN KEY ("to_place_id") REFERENCES "place" ("id")
--;
ALTER TABLE "movement" ADD CONSTRAINT "movement_refers_to_piece_id" FOREIGN KEY ("to_piece_id") REFERENCES "piece" ("id")
--;
ALTER TABLE "holding" ADD CONSTRAINT "holding_refers_receipt_line_id" FOREIGN KEY ("receipt_line_id") REFERENCES "receipt_line" ("id")
--;
ALTER TABLE "holding" ADD CONSTRAINT "holding_refers_piece_id" FOREIGN KEY ("piece_id") REFERENCES "piece" ("id")
--;
ALTER TABLE "holding" ADD CONSTRAINT "holding_refers_place_id" FOREIGN KEY ("place_id") REFERENCES "place" ("id")
--;
ALTER TABLE "containment" ADD CONSTRAINT "containment_refers_container_id" FOREIGN KEY ("container_id") REFERENCES "place" ("id")
--;
ALTER TABLE "containment" ADD CONSTRAINT "containment_refers_inside_id" FOREIGN KEY ("inside_id") REFERENCES "place" ("id")
--;
CREATE SEQUENCE holding_ids
--;
CREATE FUNCTION never_deleted() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN RAISE EXCEPTION 'guard: rows can not be deleted' USING ERRCODE = 'integrity_constraint_violation'; END $$
--;
CREATE FUNCTION never_changed() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN RAISE EXCEPTION 'guard: history can not be changed' USING ERRCODE = 'integrity_constraint_violation'; END $$
--;
CREATE TRIGGER event_never_deleted BEFORE DELETE ON "event" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER event_never_emptied BEFORE TRUNCATE ON "event" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER event_never_changed BEFORE UPDATE ON "event" FOR EACH ROW EXECUTE FUNCTION never_changed()
--;
CREATE TRIGGER site_never_deleted BEFORE DELETE ON "site" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER site_never_emptied BEFORE TRUNCATE ON "site" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER person_never_deleted BEFORE DELETE ON "person" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER person_never_emptied BEFORE TRUNCATE ON "person" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER person_role_never_deleted BEFORE DELETE ON "person_role" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER person_role_never_emptied BEFORE TRUNCATE ON "person_role" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER place_never_deleted BEFORE DELETE ON "place" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER place_never_emptied BEFORE TRUNCATE ON "place" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER company_never_deleted BEFORE DELETE ON "company" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER company_never_emptied BEFORE TRUNCATE ON "company" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER part_never_deleted BEFORE DELETE ON "part" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER part_never_emptied BEFORE TRUNCATE ON "part" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER part_mark_never_deleted BEFORE DELETE ON "part_mark" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER part_mark_never_emptied BEFORE TRUNCATE ON "part_mark" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER part_mark_never_changed BEFORE UPDATE ON "part_mark" FOR EACH ROW EXECUTE FUNCTION never_changed()
--;
CREATE TRIGGER paper_kind_never_deleted BEFORE DELETE ON "paper_kind" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER paper_kind_never_emptied BEFORE TRUNCATE ON "paper_kind" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER airframe_type_never_deleted BEFORE DELETE ON "airframe_type" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER airframe_type_never_emptied BEFORE TRUNCATE ON "airframe_type" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER type_revision_never_deleted BEFORE DELETE ON "type_revision" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER type_revision_never_emptied BEFORE TRUNCATE ON "type_revision" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER hub_fixing_never_deleted BEFORE DELETE ON "hub_fixing" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER hub_fixing_never_emptied BEFORE TRUNCATE ON "hub_fixing" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER type_position_never_deleted BEFORE DELETE ON "type_position" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER type_position_never_emptied BEFORE TRUNCATE ON "type_position" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER approved_part_never_deleted BEFORE DELETE ON "approved_part" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER approved_part_never_emptied BEFORE TRUNCATE ON "approved_part" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER position_group_never_deleted BEFORE DELETE ON "position_group" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER position_group_never_emptied BEFORE TRUNCATE ON "position_group" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER kit_list_line_never_deleted BEFORE DELETE ON "kit_list_line" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER kit_list_line_never_emptied BEFORE TRUNCATE ON "kit_list_line" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER airframe_never_deleted BEFORE DELETE ON "airframe" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER airframe_never_emptied BEFORE TRUNCATE ON "airframe" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER position_never_deleted BEFORE DELETE ON "position" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER position_never_emptied BEFORE TRUNCATE ON "position" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER sense_map_never_deleted BEFORE DELETE ON "sense_map" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER sense_map_never_emptied BEFORE TRUNCATE ON "sense_map" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER sense_map_line_never_deleted BEFORE DELETE ON "sense_map_line" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER sense_map_line_never_emptied BEFORE TRUNCATE ON "sense_map_line" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER sense_map_line_never_changed BEFORE UPDATE ON "sense_map_line" FOR EACH ROW EXECUTE FUNCTION never_changed()
--;
CREATE TRIGGER usage_reading_never_deleted BEFORE DELETE ON "usage_reading" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER usage_reading_never_emptied BEFORE TRUNCATE ON "usage_reading" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER usage_reading_never_changed BEFORE UPDATE ON "usage_reading" FOR EACH ROW EXECUTE FUNCTION never_changed()
--;
CREATE TRIGGER tool_never_deleted BEFORE DELETE ON "tool" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER tool_never_emptied BEFORE TRUNCATE ON "tool" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER lot_never_deleted BEFORE DELETE ON "lot" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER lot_never_emptied BEFORE TRUNCATE ON "lot" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER delivery_never_deleted BEFORE DELETE ON "delivery" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER delivery_never_emptied BEFORE TRUNCATE ON "delivery" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER receipt_line_never_deleted BEFORE DELETE ON "receipt_line" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER receipt_line_never_emptied BEFORE TRUNCATE ON "receipt_line" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER paper_never_deleted BEFORE DELETE ON "paper" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER paper_never_emptied BEFORE TRUNCATE ON "paper" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER paper_never_changed BEFORE UPDATE ON "paper" FOR EACH ROW EXECUTE FUNCTION never_changed()
--;
CREATE TRIGGER piece_never_deleted BEFORE DELETE ON "piece" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER piece_never_emptied BEFORE TRUNCATE ON "piece" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER inspection_never_deleted BEFORE DELETE ON "inspection" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER inspection_never_emptied BEFORE TRUNCATE ON "inspection" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER inspection_never_changed BEFORE UPDATE ON "inspection" FOR EACH ROW EXECUTE FUNCTION never_changed()
--;
CREATE TRIGGER rotor_set_never_deleted BEFORE DELETE ON "rotor_set" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER rotor_set_never_emptied BEFORE TRUNCATE ON "rotor_set" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER match_record_never_deleted BEFORE DELETE ON "match_record" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER match_record_never_emptied BEFORE TRUNCATE ON "match_record" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER match_record_never_changed BEFORE UPDATE ON "match_record" FOR EACH ROW EXECUTE FUNCTION never_changed()
--;
CREATE TRIGGER match_reading_never_deleted BEFORE DELETE ON "match_reading" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER match_reading_never_emptied BEFORE TRUNCATE ON "match_reading" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER match_reading_never_changed BEFORE UPDATE ON "match_reading" FOR EACH ROW EXECUTE FUNCTION never_changed()
--;
CREATE TRIGGER job_never_deleted BEFORE DELETE ON "job" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER job_never_emptied BEFORE TRUNCATE ON "job" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER job_position_never_deleted BEFORE DELETE ON "job_position" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER job_position_never_emptied BEFORE TRUNCATE ON "job_position" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER kit_never_deleted BEFORE DELETE ON "kit" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER kit_never_emptied BEFORE TRUNCATE ON "kit" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER kit_position_never_deleted BEFORE DELETE ON "kit_position" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER kit_position_never_emptied BEFORE TRUNCATE ON "kit_position" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER kit_position_never_changed BEFORE UPDATE ON "kit_position" FOR EACH ROW EXECUTE FUNCTION never_changed()
--;
CREATE TRIGGER kit_line_never_deleted BEFORE DELETE ON "kit_line" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER kit_line_never_emptied BEFORE TRUNCATE ON "kit_line" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER kit_line_never_changed BEFORE UPDATE ON "kit_line" FOR EACH ROW EXECUTE FUNCTION never_changed()
--;
CREATE TRIGGER kit_pick_never_deleted BEFORE DELETE ON "kit_pick" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER kit_pick_never_emptied BEFORE TRUNCATE ON "kit_pick" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER reservation_never_deleted BEFORE DELETE ON "reservation" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER reservation_never_emptied BEFORE TRUNCATE ON "reservation" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER voucher_never_deleted BEFORE DELETE ON "voucher" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER voucher_never_emptied BEFORE TRUNCATE ON "voucher" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER fit_record_never_deleted BEFORE DELETE ON "fit_record" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER fit_record_never_emptied BEFORE TRUNCATE ON "fit_record" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER torque_record_never_deleted BEFORE DELETE ON "torque_record" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER torque_record_never_emptied BEFORE TRUNCATE ON "torque_record" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER torque_record_never_changed BEFORE UPDATE ON "torque_record" FOR EACH ROW EXECUTE FUNCTION never_changed()
--;
CREATE TRIGGER removal_never_deleted BEFORE DELETE ON "removal" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER removal_never_emptied BEFORE TRUNCATE ON "removal" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER removal_never_changed BEFORE UPDATE ON "removal" FOR EACH ROW EXECUTE FUNCTION never_changed()
--;
CREATE TRIGGER hold_never_deleted BEFORE DELETE ON "hold" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER hold_never_emptied BEFORE TRUNCATE ON "hold" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER hold_item_never_deleted BEFORE DELETE ON "hold_item" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER hold_item_never_emptied BEFORE TRUNCATE ON "hold_item" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER finding_never_deleted BEFORE DELETE ON "finding" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER finding_never_emptied BEFORE TRUNCATE ON "finding" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER stock_count_never_deleted BEFORE DELETE ON "stock_count" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER stock_count_never_emptied BEFORE TRUNCATE ON "stock_count" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER count_line_never_deleted BEFORE DELETE ON "count_line" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER count_line_never_emptied BEFORE TRUNCATE ON "count_line" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER occurrence_never_deleted BEFORE DELETE ON "occurrence" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER occurrence_never_emptied BEFORE TRUNCATE ON "occurrence" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER occurrence_never_changed BEFORE UPDATE ON "occurrence" FOR EACH ROW EXECUTE FUNCTION never_changed()
--;
CREATE TRIGGER label_print_never_deleted BEFORE DELETE ON "label_print" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER label_print_never_emptied BEFORE TRUNCATE ON "label_print" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER label_print_never_changed BEFORE UPDATE ON "label_print" FOR EACH ROW EXECUTE FUNCTION never_changed()
--;
CREATE TRIGGER label_void_never_deleted BEFORE DELETE ON "label_void" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER label_void_never_emptied BEFORE TRUNCATE ON "label_void" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER label_void_never_changed BEFORE UPDATE ON "label_void" FOR EACH ROW EXECUTE FUNCTION never_changed()
--;
CREATE TRIGGER override_never_deleted BEFORE DELETE ON "override" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER override_never_emptied BEFORE TRUNCATE ON "override" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER override_never_changed BEFORE UPDATE ON "override" FOR EACH ROW EXECUTE FUNCTION never_changed()
--;
CREATE TRIGGER alone_declaration_never_deleted BEFORE DELETE ON "alone_declaration" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER alone_declaration_never_emptied BEFORE TRUNCATE ON "alone_declaration" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER alone_declaration_never_changed BEFORE UPDATE ON "alone_declaration" FOR EACH ROW EXECUTE FUNCTION never_changed()
--;
CREATE TRIGGER setting_change_never_deleted BEFORE DELETE ON "setting_change" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER setting_change_never_emptied BEFORE TRUNCATE ON "setting_change" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER setting_change_never_changed BEFORE UPDATE ON "setting_change" FOR EACH ROW EXECUTE FUNCTION never_changed()
--;
CREATE TRIGGER acknowledgement_never_deleted BEFORE DELETE ON "acknowledgement" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER acknowledgement_never_emptied BEFORE TRUNCATE ON "acknowledgement" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER acknowledgement_never_changed BEFORE UPDATE ON "acknowledgement" FOR EACH ROW EXECUTE FUNCTION never_changed()
--;
CREATE TRIGGER credential_never_deleted BEFORE DELETE ON "credential" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER credential_never_emptied BEFORE TRUNCATE ON "credential" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER movement_never_deleted BEFORE DELETE ON "movement" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER movement_never_emptied BEFORE TRUNCATE ON "movement" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER movement_never_changed BEFORE UPDATE ON "movement" FOR EACH ROW EXECUTE FUNCTION never_changed()
--;
CREATE TRIGGER store_stamp_never_deleted BEFORE DELETE ON "store_stamp" FOR EACH ROW EXECUTE FUNCTION never_deleted()
--;
CREATE TRIGGER store_stamp_never_emptied BEFORE TRUNCATE ON "store_stamp" FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()
--;
CREATE FUNCTION movement_folds() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE left_over bigint; from_kind text; from_closed bigint; to_kind text; to_closed bigint; to_active bigint; container_kind text;
BEGIN
  SELECT kind, closed, active INTO to_kind, to_closed, to_active FROM place WHERE id = NEW.to_place_id;
  IF NEW.from_place_id IS NOT NULL THEN
    SELECT kind, closed INTO from_kind, from_closed FROM place WHERE id = NEW.from_place_id;
  END IF;
  IF NEW.from_place_id IS DISTINCT FROM NEW.to_place_id AND (to_closed = 1 OR from_closed = 1) THEN
    RAISE EXCEPTION 'guard: a closed container can not be taken from or added to' USING ERRCODE = 'integrity_constraint_violation';
  END IF;
  IF to_active = 0 THEN
    RAISE EXCEPTION 'guard: the place is no longer in use' USING ERRCODE = 'integrity_constraint_violation';
  END IF;
  IF NEW.container_id IS NOT NULL THEN
    SELECT kind INTO container_kind FROM place WHERE id = NEW.container_id;
    IF EXISTS (SELECT 1 FROM (SELECT container_kind AS kind) c, (SELECT to_kind AS kind) t
               WHERE 
    (c.kind = 'rotor set' AND t.kind IN ('rotor set', 'airframe'))
    OR (c.kind = 'kit' AND t.kind IN ('rotor set', 'kit', 'position', 'airframe', 'job'))
    OR (c.kind = 'position' AND t.kind <> 'airframe')
    OR (c.kind = 'airframe' AND t.kind IN ('rotor set', 'kit', 'position', 'airframe', 'job', 'hands'))
    OR c.kind NOT IN ('rotor set', 'kit', 'position', 'airframe')) THEN
      RAISE EXCEPTION 'guard: that container can not be put inside there' USING ERRCODE = 'integrity_constraint_violation';
    END IF;
    IF NEW.from_place_id IS NULL THEN
      INSERT INTO containment (id, container_id, inside_id)
        VALUES (NEW.container_id, NEW.container_id, NEW.to_place_id);
    ELSE
      UPDATE containment SET inside_id = NEW.to_place_id
        WHERE container_id = NEW.container_id AND inside_id = NEW.from_place_id;
      IF NOT FOUND THEN
        RAISE EXCEPTION 'guard: the container is not where the movement takes it from' USING ERRCODE = 'integrity_constraint_violation';
      END IF;
    END IF;
    RETURN NULL;
  END IF;

  UPDATE holding SET quantity = quantity - NEW.quantity
    WHERE receipt_line_id = NEW.receipt_line_id AND place_id = NEW.from_place_id
      AND condition = NEW.from_condition AND piece_id IS NOT DISTINCT FROM NEW.from_piece_id
    RETURNING quantity INTO left_over;
  IF NOT FOUND THEN
    IF NEW.from_piece_id IS NOT NULL OR from_kind NOT IN ('supplier', 'unaccounted') THEN
      RAISE EXCEPTION 'guard: more would be taken than is there' USING ERRCODE = 'integrity_constraint_violation';
    END IF;
    INSERT INTO holding (id, receipt_line_id, piece_id, place_id, condition, quantity)
      VALUES (nextval('holding_ids'), NEW.receipt_line_id, NULL, NEW.from_place_id, NEW.from_condition, -NEW.quantity);
  ELSIF left_over < 0 AND (NEW.from_piece_id IS NOT NULL OR from_kind NOT IN ('supplier', 'unaccounted')) THEN
    RAISE EXCEPTION 'guard: more would be taken than is there' USING ERRCODE = 'integrity_constraint_violation';
  ELSIF left_over = 0 THEN
    DELETE FROM holding WHERE receipt_line_id = NEW.receipt_line_id AND place_id = NEW.from_place_id AND quantity = 0;
  END IF;

  UPDATE holding SET quantity = quantity + NEW.quantity
    WHERE receipt_line_id = NEW.receipt_line_id AND place_id = NEW.to_place_id
      AND condition = NEW.to_condition AND piece_id IS NOT DISTINCT FROM NEW.to_piece_id
    RETURNING quantity INTO left_over;
  IF NOT FOUND THEN
    INSERT INTO holding (id, receipt_line_id, piece_id, place_id, condition, quantity)
      VALUES (nextval('holding_ids'), NEW.receipt_line_id, NEW.to_piece_id, NEW.to_place_id, NEW.to_condition, NEW.quantity);
  ELSIF left_over = 0 THEN
    DELETE FROM holding WHERE receipt_line_id = NEW.receipt_line_id AND place_id = NEW.to_place_id AND quantity = 0;
  END IF;
  RETURN NULL;
END $$
--;
CREATE TRIGGER movement_folds AFTER INSERT ON movement FOR EACH ROW EXECUTE FUNCTION movement_folds()
