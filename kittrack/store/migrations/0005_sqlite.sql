CREATE INDEX "event_by_act" ON "event" ("act")
--;
CREATE INDEX "delivery_by_supplier_id_reference" ON "delivery" ("supplier_id", "reference")
--;
CREATE INDEX "rotor_set_by_bound_position_id" ON "rotor_set" ("bound_position_id")
--;
CREATE INDEX "kit_by_place_id" ON "kit" ("place_id")
--;
CREATE INDEX "kit_by_airframe_id" ON "kit" ("airframe_id")
--;
CREATE INDEX "kit_by_job_id" ON "kit" ("job_id")
--;
CREATE INDEX "kit_pick_by_kit_line_id" ON "kit_pick" ("kit_line_id")
--;
CREATE INDEX "voucher_by_airframe_id" ON "voucher" ("airframe_id")
--;
CREATE INDEX "torque_record_by_fit_record_id" ON "torque_record" ("fit_record_id")
--;
CREATE INDEX "removal_by_airframe_id" ON "removal" ("airframe_id")