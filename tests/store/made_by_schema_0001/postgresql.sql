CREATE FUNCTION public.movement_folds() RETURNS trigger
    LANGUAGE plpgsql
    AS $$
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
END $$;
CREATE FUNCTION public.never_changed() RETURNS trigger
    LANGUAGE plpgsql
    AS $$ BEGIN RAISE EXCEPTION 'guard: history can not be changed' USING ERRCODE = 'integrity_constraint_violation'; END $$;
CREATE FUNCTION public.never_deleted() RETURNS trigger
    LANGUAGE plpgsql
    AS $$ BEGIN RAISE EXCEPTION 'guard: rows can not be deleted' USING ERRCODE = 'integrity_constraint_violation'; END $$;
CREATE TABLE public.acknowledgement (
    id bigint NOT NULL,
    person_id bigint NOT NULL,
    what text NOT NULL COLLATE pg_catalog."C",
    event_id bigint NOT NULL
);
CREATE TABLE public.airframe (
    id bigint NOT NULL,
    code text NOT NULL COLLATE pg_catalog."C",
    tail text NOT NULL COLLATE pg_catalog."C",
    type_revision_id bigint NOT NULL,
    place_id bigint NOT NULL,
    sense_map_id bigint,
    minutes bigint,
    flights bigint,
    state text NOT NULL COLLATE pg_catalog."C",
    owner_id bigint,
    CONSTRAINT airframe_state CHECK ((state = ANY (ARRAY['active'::text, 'sold'::text, 'written off'::text])))
);
CREATE TABLE public.airframe_type (
    id bigint NOT NULL,
    name text NOT NULL COLLATE pg_catalog."C"
);
CREATE TABLE public.alone_declaration (
    id bigint NOT NULL,
    person_id bigint NOT NULL,
    job_id bigint,
    from_on text NOT NULL COLLATE pg_catalog."C",
    until_on text NOT NULL COLLATE pg_catalog."C",
    reason text NOT NULL COLLATE pg_catalog."C",
    event_id bigint NOT NULL
);
CREATE TABLE public.approved_part (
    id bigint NOT NULL,
    type_position_id bigint NOT NULL,
    part_id bigint NOT NULL,
    active bigint NOT NULL
);
CREATE TABLE public.company (
    id bigint NOT NULL,
    name text NOT NULL COLLATE pg_catalog."C",
    is_maker bigint NOT NULL,
    is_supplier bigint NOT NULL,
    lead_time_days bigint
);
CREATE TABLE public.containment (
    id bigint NOT NULL,
    container_id bigint NOT NULL,
    inside_id bigint NOT NULL
);
CREATE TABLE public.count_line (
    id bigint NOT NULL,
    stock_count_id bigint NOT NULL,
    receipt_line_id bigint,
    piece_id bigint,
    container_id bigint,
    condition text NOT NULL COLLATE pg_catalog."C",
    booked bigint NOT NULL,
    counted bigint,
    recounted bigint
);
CREATE TABLE public.credential (
    id bigint NOT NULL,
    person_id bigint NOT NULL,
    method text NOT NULL COLLATE pg_catalog."C",
    cost_n bigint NOT NULL,
    block_r bigint NOT NULL,
    parallel_p bigint NOT NULL,
    salt text NOT NULL COLLATE pg_catalog."C",
    digest text NOT NULL COLLATE pg_catalog."C",
    failures bigint NOT NULL,
    locked_until_at text COLLATE pg_catalog."C",
    CONSTRAINT credential_cost CHECK ((((cost_n >= 2) AND (cost_n <= 1048576)) AND ((block_r >= 1) AND (block_r <= 32)) AND ((parallel_p >= 1) AND (parallel_p <= 16)))),
    CONSTRAINT credential_failures CHECK ((failures >= 0)),
    CONSTRAINT credential_method CHECK ((method = 'scrypt'::text))
);
CREATE TABLE public.delivery (
    id bigint NOT NULL,
    code text NOT NULL COLLATE pg_catalog."C",
    supplier_id bigint NOT NULL,
    reference text NOT NULL COLLATE pg_catalog."C",
    is_opening bigint NOT NULL,
    event_id bigint NOT NULL
);
CREATE TABLE public.event (
    id bigint NOT NULL,
    act text NOT NULL COLLATE pg_catalog."C",
    at text NOT NULL COLLATE pg_catalog."C",
    offset_minutes bigint NOT NULL,
    by_id bigint NOT NULL,
    second_id bigint,
    reason text NOT NULL COLLATE pg_catalog."C",
    key text NOT NULL COLLATE pg_catalog."C",
    statements text NOT NULL COLLATE pg_catalog."C",
    previous_hash text NOT NULL COLLATE pg_catalog."C",
    hash text NOT NULL COLLATE pg_catalog."C",
    CONSTRAINT event_hash_is_sha256 CHECK (((length(hash) = 64) AND (length(previous_hash) = 64)))
);
CREATE TABLE public.finding (
    id bigint NOT NULL,
    airframe_id bigint,
    position_id bigint,
    rotor_set_id bigint,
    job_id bigint,
    text text NOT NULL COLLATE pg_catalog."C",
    settled_event_id bigint,
    settlement text NOT NULL COLLATE pg_catalog."C",
    event_id bigint NOT NULL
);
CREATE TABLE public.fit_record (
    id bigint NOT NULL,
    job_id bigint NOT NULL,
    position_id bigint NOT NULL,
    rotor_set_id bigint NOT NULL,
    state text NOT NULL COLLATE pg_catalog."C",
    sense text NOT NULL COLLATE pg_catalog."C",
    mark text NOT NULL COLLATE pg_catalog."C",
    map_revision bigint NOT NULL,
    screw_line_id bigint,
    screws bigint NOT NULL,
    washer_line_id bigint,
    washers bigint NOT NULL,
    locker_line_id bigint,
    locker_ul bigint NOT NULL,
    torque_method text NOT NULL COLLATE pg_catalog."C",
    torque_mnm bigint,
    tool_id bigint,
    fitted_by_id bigint NOT NULL,
    inspected_by_id bigint,
    inspection text NOT NULL COLLATE pg_catalog."C",
    walked_by_id bigint,
    airframe_minutes bigint,
    airframe_flights bigint,
    is_transport_refit bigint NOT NULL,
    event_id bigint NOT NULL,
    CONSTRAINT fit_inspection CHECK ((inspection = ANY (ARRAY[''::text, 'second person'::text, 're-inspection'::text]))),
    CONSTRAINT fit_sense CHECK ((sense = ANY (ARRAY['CW'::text, 'CCW'::text]))),
    CONSTRAINT fit_state CHECK ((state = ANY (ARRAY['started'::text, 'fastened'::text, 'inspected'::text, 'removed'::text])))
);
CREATE TABLE public.hold (
    id bigint NOT NULL,
    code text NOT NULL COLLATE pg_catalog."C",
    scope text NOT NULL COLLATE pg_catalog."C",
    scope_text text NOT NULL COLLATE pg_catalog."C",
    lot_code text NOT NULL COLLATE pg_catalog."C",
    reason text NOT NULL COLLATE pg_catalog."C",
    reference text NOT NULL COLLATE pg_catalog."C",
    is_recall bigint NOT NULL,
    is_evidence bigint NOT NULL,
    placed_event_id bigint NOT NULL,
    released_event_id bigint,
    release_reference text NOT NULL COLLATE pg_catalog."C",
    CONSTRAINT hold_scope_is_known CHECK ((scope = ANY (ARRAY['lot'::text, 'receipt line'::text, 'piece'::text, 'rotor set'::text, 'kit'::text, 'maker lot'::text, 'serials'::text, 'supplier'::text, 'maker'::text, 'scale'::text, 'airframe'::text])))
);
CREATE TABLE public.hold_item (
    id bigint NOT NULL,
    hold_id bigint NOT NULL,
    receipt_line_id bigint,
    piece_id bigint,
    rotor_set_id bigint,
    kit_id bigint,
    released_event_id bigint
);
CREATE TABLE public.holding (
    id bigint NOT NULL,
    receipt_line_id bigint NOT NULL,
    piece_id bigint,
    place_id bigint NOT NULL,
    condition text NOT NULL COLLATE pg_catalog."C",
    quantity bigint NOT NULL
);
CREATE SEQUENCE public.holding_ids
    START WITH 1
    INCREMENT BY 1
    NO MINVALUE
    NO MAXVALUE
    CACHE 1;
CREATE TABLE public.hub_fixing (
    id bigint NOT NULL,
    type_revision_id bigint NOT NULL,
    name text NOT NULL COLLATE pg_catalog."C",
    screw_part_id bigint NOT NULL,
    screws_per_hub bigint NOT NULL,
    washer_part_id bigint,
    washers_per_hub bigint NOT NULL,
    locker_part_id bigint,
    locker_ul_per_screw bigint NOT NULL,
    torque_method text NOT NULL COLLATE pg_catalog."C",
    torque_mnm bigint,
    torque_tolerance_mnm bigint,
    torque_text text NOT NULL COLLATE pg_catalog."C",
    torque_condition text NOT NULL COLLATE pg_catalog."C",
    torque_source text NOT NULL COLLATE pg_catalog."C",
    stack_um bigint,
    engagement_min_um bigint,
    engagement_max_um bigint,
    CONSTRAINT fixing_counts CHECK (((screws_per_hub >= 0) AND (washers_per_hub >= 0) AND (locker_ul_per_screw >= 0))),
    CONSTRAINT fixing_has_torque CHECK (((torque_method <> 'torque'::text) OR (torque_mnm > 0))),
    CONSTRAINT fixing_method_is_known CHECK ((torque_method = ANY (ARRAY['torque'::text, 'angle'::text, 'snug'::text])))
);
CREATE TABLE public.inspection (
    id bigint NOT NULL,
    receipt_line_id bigint,
    piece_id bigint,
    rotor_set_id bigint,
    quantity bigint NOT NULL,
    result text NOT NULL COLLATE pg_catalog."C",
    mark text NOT NULL COLLATE pg_catalog."C",
    sense text COLLATE pg_catalog."C",
    note text NOT NULL COLLATE pg_catalog."C",
    event_id bigint NOT NULL,
    CONSTRAINT inspection_result CHECK ((result = ANY (ARRAY['accepted'::text, 'held'::text, 'rejected'::text])))
);
CREATE TABLE public.job (
    id bigint NOT NULL,
    code text NOT NULL COLLATE pg_catalog."C",
    place_id bigint NOT NULL,
    airframe_id bigint NOT NULL,
    purpose text NOT NULL COLLATE pg_catalog."C",
    state text NOT NULL COLLATE pg_catalog."C",
    checked_event_id bigint,
    closed_event_id bigint,
    event_id bigint NOT NULL,
    CONSTRAINT job_state CHECK ((state = ANY (ARRAY['open'::text, 'closed'::text])))
);
CREATE TABLE public.job_position (
    id bigint NOT NULL,
    job_id bigint NOT NULL,
    position_id bigint NOT NULL,
    state text NOT NULL COLLATE pg_catalog."C",
    CONSTRAINT job_position_state CHECK ((state = ANY (ARRAY['to do'::text, 'bare'::text, 'not finished'::text, 'fitted'::text, 'inspected'::text, 'walked'::text])))
);
CREATE TABLE public.kit (
    id bigint NOT NULL,
    code text NOT NULL COLLATE pg_catalog."C",
    place_id bigint NOT NULL,
    type_revision_id bigint NOT NULL,
    settings_revision bigint NOT NULL,
    airframe_id bigint,
    job_id bigint,
    purpose text NOT NULL COLLATE pg_catalog."C",
    state text NOT NULL COLLATE pg_catalog."C",
    seal text COLLATE pg_catalog."C",
    expires_on text COLLATE pg_catalog."C",
    built_by_id bigint NOT NULL,
    checked_by_id bigint,
    event_id bigint NOT NULL,
    CONSTRAINT kit_purpose CHECK ((purpose = ANY (ARRAY['full'::text, 'make-good'::text]))),
    CONSTRAINT kit_sealed_has_seal CHECK (((state <> ALL (ARRAY['sealed'::text, 'issued'::text])) OR (seal IS NOT NULL))),
    CONSTRAINT kit_state CHECK ((state = ANY (ARRAY['building'::text, 'checked'::text, 'sealed'::text, 'issued'::text, 'opened'::text, 'dissolved'::text])))
);
CREATE TABLE public.kit_line (
    id bigint NOT NULL,
    kit_id bigint NOT NULL,
    rank bigint NOT NULL,
    kind text NOT NULL COLLATE pg_catalog."C",
    part_id bigint NOT NULL,
    sense text COLLATE pg_catalog."C",
    quantity bigint NOT NULL,
    unit text NOT NULL COLLATE pg_catalog."C",
    hubs bigint NOT NULL,
    per_hub bigint NOT NULL,
    CONSTRAINT kit_line_kind CHECK ((kind = ANY (ARRAY['rotor set'::text, 'screw'::text, 'washer'::text, 'threadlocker'::text, 'extra'::text]))),
    CONSTRAINT kit_line_quantity CHECK ((quantity > 0))
);
CREATE TABLE public.kit_list_line (
    id bigint NOT NULL,
    type_revision_id bigint NOT NULL,
    part_id bigint NOT NULL,
    quantity bigint NOT NULL,
    per text NOT NULL COLLATE pg_catalog."C",
    CONSTRAINT kit_list_per CHECK ((per = ANY (ARRAY['kit'::text, 'hub'::text]))),
    CONSTRAINT kit_list_quantity CHECK ((quantity > 0))
);
CREATE TABLE public.kit_pick (
    id bigint NOT NULL,
    kit_id bigint NOT NULL,
    kit_line_id bigint NOT NULL,
    rotor_set_id bigint,
    receipt_line_id bigint,
    piece_id bigint,
    quantity bigint NOT NULL,
    type_position_id bigint,
    active bigint NOT NULL,
    event_id bigint NOT NULL,
    CONSTRAINT kit_pick_is_one_thing CHECK (((rotor_set_id IS NULL) <> (receipt_line_id IS NULL))),
    CONSTRAINT kit_pick_quantity CHECK ((quantity > 0))
);
CREATE TABLE public.kit_position (
    id bigint NOT NULL,
    kit_id bigint NOT NULL,
    type_position_id bigint NOT NULL,
    sense text NOT NULL COLLATE pg_catalog."C",
    CONSTRAINT kit_position_sense CHECK ((sense = ANY (ARRAY['CW'::text, 'CCW'::text])))
);
CREATE TABLE public.label_print (
    id bigint NOT NULL,
    subject text NOT NULL COLLATE pg_catalog."C",
    copy_number bigint NOT NULL,
    stock text NOT NULL COLLATE pg_catalog."C",
    event_id bigint NOT NULL
);
CREATE TABLE public.label_void (
    id bigint NOT NULL,
    label_print_id bigint NOT NULL,
    reason text NOT NULL COLLATE pg_catalog."C",
    event_id bigint NOT NULL
);
CREATE TABLE public.lot (
    id bigint NOT NULL,
    code text NOT NULL COLLATE pg_catalog."C",
    part_id bigint NOT NULL,
    maker_id bigint NOT NULL,
    supplier_id bigint NOT NULL,
    lot_code text COLLATE pg_catalog."C"
);
CREATE TABLE public.match_reading (
    id bigint NOT NULL,
    match_record_id bigint NOT NULL,
    piece_id bigint NOT NULL,
    slot bigint NOT NULL,
    moment_g_um bigint
);
CREATE TABLE public.match_record (
    id bigint NOT NULL,
    rotor_set_id bigint NOT NULL,
    method text NOT NULL COLLATE pg_catalog."C",
    source text NOT NULL COLLATE pg_catalog."C",
    tool_id bigint,
    tolerance_g_um bigint,
    tolerance_source text NOT NULL COLLATE pg_catalog."C",
    residual_g_um bigint,
    uncertainty_g_um bigint,
    tape text NOT NULL COLLATE pg_catalog."C",
    event_id bigint NOT NULL,
    CONSTRAINT match_method CHECK ((method = ANY (ARRAY['supplier pairing'::text, 'measured'::text])))
);
CREATE TABLE public.movement (
    id bigint NOT NULL,
    event_id bigint NOT NULL,
    receipt_line_id bigint,
    container_id bigint,
    quantity bigint NOT NULL,
    from_place_id bigint,
    from_condition text NOT NULL COLLATE pg_catalog."C",
    from_piece_id bigint,
    to_place_id bigint NOT NULL,
    to_condition text NOT NULL COLLATE pg_catalog."C",
    to_piece_id bigint,
    CONSTRAINT movement_goes_somewhere CHECK (((from_place_id IS NULL) OR (from_place_id <> to_place_id) OR (from_condition <> to_condition) OR (COALESCE(from_piece_id, (0)::bigint) <> COALESCE(to_piece_id, (0)::bigint)))),
    CONSTRAINT movement_is_one_thing CHECK (((receipt_line_id IS NULL) <> (container_id IS NULL))),
    CONSTRAINT movement_of_stock_has_conditions CHECK ((((receipt_line_id IS NULL) = (from_condition = ''::text)) AND ((receipt_line_id IS NULL) = (to_condition = ''::text)))),
    CONSTRAINT movement_of_stock_has_source CHECK (((from_place_id IS NOT NULL) OR (container_id IS NOT NULL))),
    CONSTRAINT movement_quantity CHECK (((quantity > 0) AND ((container_id IS NULL) OR (quantity = 1))))
);
CREATE TABLE public.occurrence (
    id bigint NOT NULL,
    airframe_id bigint NOT NULL,
    text text NOT NULL COLLATE pg_catalog."C",
    happened_at text NOT NULL COLLATE pg_catalog."C",
    event_id bigint NOT NULL
);
CREATE TABLE public.override (
    id bigint NOT NULL,
    kind text NOT NULL COLLATE pg_catalog."C",
    subject text NOT NULL COLLATE pg_catalog."C",
    reason text NOT NULL COLLATE pg_catalog."C",
    event_id bigint NOT NULL,
    CONSTRAINT override_kind CHECK ((kind = ANY (ARRAY['other airframe'::text, 'refit elsewhere'::text, 'shelf life extended'::text])))
);
CREATE TABLE public.paper (
    id bigint NOT NULL,
    receipt_line_id bigint NOT NULL,
    kind text NOT NULL COLLATE pg_catalog."C",
    number text NOT NULL COLLATE pg_catalog."C",
    issuer text NOT NULL COLLATE pg_catalog."C",
    event_id bigint NOT NULL
);
CREATE TABLE public.paper_kind (
    id bigint NOT NULL,
    paper_class text NOT NULL COLLATE pg_catalog."C",
    kind text NOT NULL COLLATE pg_catalog."C",
    active bigint NOT NULL
);
CREATE TABLE public.part (
    id bigint NOT NULL,
    number text NOT NULL COLLATE pg_catalog."C",
    maker_id bigint NOT NULL,
    name text NOT NULL COLLATE pg_catalog."C",
    kind text NOT NULL COLLATE pg_catalog."C",
    tracking text NOT NULL COLLATE pg_catalog."C",
    unit text NOT NULL COLLATE pg_catalog."C",
    paper_class text NOT NULL COLLATE pg_catalog."C",
    revision bigint NOT NULL,
    mark_revision bigint NOT NULL,
    pack_quantity bigint NOT NULL,
    sense text COLLATE pg_catalog."C",
    thread_hand text COLLATE pg_catalog."C",
    blades_per_rotor bigint,
    hub_part_id bigint,
    hub_in_set bigint NOT NULL,
    tolerance_g_um bigint,
    tolerance_source text NOT NULL COLLATE pg_catalog."C",
    pairing_suffices bigint NOT NULL,
    pairing_source text NOT NULL COLLATE pg_catalog."C",
    mixes_lots bigint NOT NULL,
    trim_allowed bigint NOT NULL,
    thread text NOT NULL COLLATE pg_catalog."C",
    length_um bigint,
    head text NOT NULL COLLATE pg_catalog."C",
    drive text NOT NULL COLLATE pg_catalog."C",
    property_class text NOT NULL COLLATE pg_catalog."C",
    single_use bigint NOT NULL,
    single_dose bigint NOT NULL,
    expiry_needed bigint NOT NULL,
    shelf_life_days bigint,
    opened_life_days bigint,
    life_minutes bigint,
    life_flights bigint,
    life_days bigint,
    superseded_by_id bigint,
    superseded_how text NOT NULL COLLATE pg_catalog."C",
    source text NOT NULL COLLATE pg_catalog."C",
    CONSTRAINT part_blade_has_sense CHECK (((kind <> 'blade'::text) OR (sense = ANY (ARRAY['CW'::text, 'CCW'::text])))),
    CONSTRAINT part_kind_is_known CHECK ((kind = ANY (ARRAY['blade'::text, 'hub'::text, 'fastener'::text, 'consumable'::text, 'other'::text]))),
    CONSTRAINT part_supersession_is_known CHECK ((superseded_how = ANY (ARRAY[''::text, 'use up'::text, 'safety'::text]))),
    CONSTRAINT part_tracking_is_known CHECK ((tracking = ANY (ARRAY['lot'::text, 'serial'::text]))),
    CONSTRAINT part_unit_is_known CHECK ((unit = ANY (ARRAY['pieces'::text, 'volume_ul'::text])))
);
CREATE TABLE public.part_mark (
    id bigint NOT NULL,
    part_id bigint NOT NULL,
    revision bigint NOT NULL,
    mark text NOT NULL COLLATE pg_catalog."C",
    sense text NOT NULL COLLATE pg_catalog."C",
    CONSTRAINT mark_has_sense CHECK ((sense = ANY (ARRAY['CW'::text, 'CCW'::text])))
);
CREATE TABLE public.person (
    id bigint NOT NULL,
    code text NOT NULL COLLATE pg_catalog."C",
    name text NOT NULL COLLATE pg_catalog."C",
    active bigint NOT NULL,
    is_script bigint NOT NULL,
    same_human_as_id bigint,
    event_id bigint NOT NULL
);
CREATE TABLE public.person_role (
    id bigint NOT NULL,
    person_id bigint NOT NULL,
    role text NOT NULL COLLATE pg_catalog."C",
    active bigint NOT NULL,
    CONSTRAINT role_is_known CHECK ((role = ANY (ARRAY['clerk'::text, 'technician'::text, 'inspector'::text, 'manager'::text, 'auditor'::text])))
);
CREATE TABLE public.piece (
    id bigint NOT NULL,
    code text NOT NULL COLLATE pg_catalog."C",
    receipt_line_id bigint NOT NULL,
    part_id bigint NOT NULL,
    maker_id bigint NOT NULL,
    serial text COLLATE pg_catalog."C",
    pair_code text NOT NULL COLLATE pg_catalog."C",
    mark text NOT NULL COLLATE pg_catalog."C",
    sense text COLLATE pg_catalog."C",
    mass_ug bigint,
    moment_g_um bigint,
    weighed_with_id bigint,
    opened_on text COLLATE pg_catalog."C",
    expires_on text COLLATE pg_catalog."C",
    note text NOT NULL COLLATE pg_catalog."C",
    event_id bigint NOT NULL
);
CREATE TABLE public.place (
    id bigint NOT NULL,
    code text NOT NULL COLLATE pg_catalog."C",
    kind text NOT NULL COLLATE pg_catalog."C",
    name text NOT NULL COLLATE pg_catalog."C",
    site_id bigint,
    person_id bigint,
    closed bigint NOT NULL,
    active bigint NOT NULL,
    CONSTRAINT place_closed_is_flag CHECK ((closed = ANY (ARRAY[(0)::bigint, (1)::bigint]))),
    CONSTRAINT place_kind_is_known CHECK ((kind = ANY (ARRAY['bin'::text, 'goods-in'::text, 'hold cage'::text, 'bench'::text, 'van'::text, 'hands'::text, 'job'::text, 'removed-parts cage'::text, 'rotor set'::text, 'kit'::text, 'position'::text, 'airframe'::text, 'apron'::text, 'supplier'::text, 'returned to supplier'::text, 'consumed'::text, 'scrapped'::text, 'sold'::text, 'lost'::text, 'unaccounted'::text])))
);
CREATE TABLE public."position" (
    id bigint NOT NULL,
    code text NOT NULL COLLATE pg_catalog."C",
    airframe_id bigint NOT NULL,
    type_position_id bigint NOT NULL,
    place_id bigint NOT NULL,
    name text NOT NULL COLLATE pg_catalog."C",
    active bigint NOT NULL
);
CREATE TABLE public.position_group (
    id bigint NOT NULL,
    type_revision_id bigint NOT NULL,
    name text NOT NULL COLLATE pg_catalog."C",
    type_position_id bigint NOT NULL
);
CREATE TABLE public.receipt_line (
    id bigint NOT NULL,
    code text NOT NULL COLLATE pg_catalog."C",
    delivery_id bigint NOT NULL,
    lot_id bigint NOT NULL,
    part_id bigint NOT NULL,
    quantity bigint NOT NULL,
    unit text NOT NULL COLLATE pg_catalog."C",
    expiry_kind text NOT NULL COLLATE pg_catalog."C",
    expires_on text COLLATE pg_catalog."C",
    made_on text COLLATE pg_catalog."C",
    history_known bigint NOT NULL,
    raw_scan text NOT NULL COLLATE pg_catalog."C",
    event_id bigint NOT NULL,
    CONSTRAINT receipt_expiry CHECK ((((expiry_kind = 'date'::text) AND (expires_on IS NOT NULL)) OR ((expiry_kind = ANY (ARRAY['none'::text, 'unknown'::text])) AND (expires_on IS NULL)))),
    CONSTRAINT receipt_quantity CHECK ((quantity > 0)),
    CONSTRAINT receipt_unit CHECK ((unit = ANY (ARRAY['pieces'::text, 'volume_ul'::text])))
);
CREATE TABLE public.removal (
    id bigint NOT NULL,
    code text NOT NULL COLLATE pg_catalog."C",
    job_id bigint NOT NULL,
    airframe_id bigint NOT NULL,
    position_id bigint NOT NULL,
    rotor_set_id bigint NOT NULL,
    purpose text NOT NULL COLLATE pg_catalog."C",
    reason text NOT NULL COLLATE pg_catalog."C",
    sense_found text NOT NULL COLLATE pg_catalog."C",
    mark_found text NOT NULL COLLATE pg_catalog."C",
    used_minutes bigint,
    used_flights bigint,
    is_evidence bigint NOT NULL,
    event_id bigint NOT NULL,
    CONSTRAINT removal_purpose CHECK ((purpose = ANY (ARRAY['replacement'::text, 'transport'::text, 'finding'::text]))),
    CONSTRAINT removal_sense CHECK ((sense_found = ANY (ARRAY['CW'::text, 'CCW'::text, ''::text])))
);
CREATE TABLE public.reservation (
    id bigint NOT NULL,
    job_id bigint NOT NULL,
    kit_id bigint,
    rotor_set_id bigint,
    until_on text NOT NULL COLLATE pg_catalog."C",
    state text NOT NULL COLLATE pg_catalog."C",
    CONSTRAINT reservation_is_one_thing CHECK (((kit_id IS NULL) <> (rotor_set_id IS NULL))),
    CONSTRAINT reservation_state CHECK ((state = ANY (ARRAY['active'::text, 'released'::text, 'used'::text])))
);
CREATE TABLE public.rotor_set (
    id bigint NOT NULL,
    code text NOT NULL COLLATE pg_catalog."C",
    place_id bigint NOT NULL,
    part_id bigint NOT NULL,
    sense text NOT NULL COLLATE pg_catalog."C",
    state text NOT NULL COLLATE pg_catalog."C",
    condition text NOT NULL COLLATE pg_catalog."C",
    match_record_id bigint,
    used_minutes bigint,
    used_flights bigint,
    used_since_on text COLLATE pg_catalog."C",
    history_known bigint NOT NULL,
    bound_position_id bigint,
    rematches bigint NOT NULL,
    event_id bigint NOT NULL,
    CONSTRAINT set_condition CHECK ((condition = ANY (ARRAY['on hold'::text, 'serviceable'::text, 'unserviceable'::text, 'unsalvageable'::text]))),
    CONSTRAINT set_sense CHECK ((sense = ANY (ARRAY['CW'::text, 'CCW'::text]))),
    CONSTRAINT set_state CHECK ((state = ANY (ARRAY['complete'::text, 'broken'::text])))
);
CREATE TABLE public.sense_map (
    id bigint NOT NULL,
    airframe_id bigint NOT NULL,
    revision bigint NOT NULL,
    source text NOT NULL COLLATE pg_catalog."C",
    verified_event_id bigint,
    cleared_event_id bigint,
    event_id bigint NOT NULL
);
CREATE TABLE public.sense_map_line (
    id bigint NOT NULL,
    sense_map_id bigint NOT NULL,
    position_id bigint NOT NULL,
    sense text NOT NULL COLLATE pg_catalog."C",
    CONSTRAINT sense_map_sense CHECK ((sense = ANY (ARRAY['CW'::text, 'CCW'::text])))
);
CREATE TABLE public.setting_change (
    id bigint NOT NULL,
    subject text NOT NULL COLLATE pg_catalog."C",
    name text NOT NULL COLLATE pg_catalog."C",
    old text NOT NULL COLLATE pg_catalog."C",
    new text NOT NULL COLLATE pg_catalog."C",
    source text NOT NULL COLLATE pg_catalog."C",
    event_id bigint NOT NULL
);
CREATE TABLE public.site (
    id bigint NOT NULL,
    name text NOT NULL COLLATE pg_catalog."C",
    time_zone text NOT NULL COLLATE pg_catalog."C"
);
CREATE TABLE public.stock_count (
    id bigint NOT NULL,
    code text NOT NULL COLLATE pg_catalog."C",
    place_id bigint NOT NULL,
    state text NOT NULL COLLATE pg_catalog."C",
    counted_by_id bigint,
    event_id bigint NOT NULL,
    CONSTRAINT count_state CHECK ((state = ANY (ARRAY['open'::text, 'counted'::text, 'settled'::text])))
);
CREATE TABLE public.store_stamp (
    id integer NOT NULL,
    program text NOT NULL,
    schema_version integer NOT NULL,
    is_demo integer NOT NULL,
    number_floor integer DEFAULT 0 NOT NULL,
    CONSTRAINT one_stamp CHECK ((id = 1))
);
CREATE TABLE public.tool (
    id bigint NOT NULL,
    code text NOT NULL COLLATE pg_catalog."C",
    name text NOT NULL COLLATE pg_catalog."C",
    kind text NOT NULL COLLATE pg_catalog."C",
    min_mnm bigint,
    max_mnm bigint,
    resolution_ug bigint,
    uncertainty_ug bigint,
    repeatability_ug bigint,
    ruler_um bigint,
    calibrated_until_on text COLLATE pg_catalog."C",
    active bigint NOT NULL,
    CONSTRAINT tool_kind CHECK ((kind = ANY (ARRAY['torque'::text, 'scale'::text])))
);
CREATE TABLE public.torque_record (
    id bigint NOT NULL,
    position_id bigint NOT NULL,
    fit_record_id bigint,
    purpose text NOT NULL COLLATE pg_catalog."C",
    torque_method text NOT NULL COLLATE pg_catalog."C",
    torque_mnm bigint,
    tool_id bigint,
    airframe_minutes bigint,
    event_id bigint NOT NULL,
    CONSTRAINT torque_purpose CHECK ((purpose = ANY (ARRAY['fit'::text, 're-torque'::text])))
);
CREATE TABLE public.type_position (
    id bigint NOT NULL,
    type_revision_id bigint NOT NULL,
    rank bigint NOT NULL,
    name text NOT NULL COLLATE pg_catalog."C",
    alias text NOT NULL COLLATE pg_catalog."C",
    arm text NOT NULL COLLATE pg_catalog."C",
    level text NOT NULL COLLATE pg_catalog."C",
    drive text NOT NULL COLLATE pg_catalog."C",
    sense text NOT NULL COLLATE pg_catalog."C",
    angle_mdeg bigint NOT NULL,
    radius_um bigint NOT NULL,
    hub_fixing_id bigint NOT NULL,
    CONSTRAINT type_position_drive CHECK ((drive = ANY (ARRAY['tractor'::text, 'pusher'::text]))),
    CONSTRAINT type_position_level CHECK ((level = ANY (ARRAY['single'::text, 'upper'::text, 'lower'::text]))),
    CONSTRAINT type_position_sense CHECK ((sense = ANY (ARRAY['CW'::text, 'CCW'::text])))
);
CREATE TABLE public.type_revision (
    id bigint NOT NULL,
    airframe_type_id bigint NOT NULL,
    name text NOT NULL COLLATE pg_catalog."C",
    settings_revision bigint NOT NULL,
    retorque_minutes bigint,
    source text NOT NULL COLLATE pg_catalog."C"
);
CREATE TABLE public.usage_reading (
    id bigint NOT NULL,
    airframe_id bigint NOT NULL,
    minutes bigint NOT NULL,
    flights bigint NOT NULL,
    source text NOT NULL COLLATE pg_catalog."C",
    event_id bigint NOT NULL
);
CREATE TABLE public.voucher (
    id bigint NOT NULL,
    code text NOT NULL COLLATE pg_catalog."C",
    kit_id bigint NOT NULL,
    job_id bigint NOT NULL,
    airframe_id bigint NOT NULL,
    giver_id bigint NOT NULL,
    receiver_id bigint NOT NULL,
    state text NOT NULL COLLATE pg_catalog."C",
    event_id bigint NOT NULL,
    CONSTRAINT voucher_state CHECK ((state = ANY (ARRAY['open'::text, 'returned'::text, 'reversed'::text, 'closed'::text])))
);
INSERT INTO public.airframe VALUES (1, 'A000001-D', 'QA-01', 1, 22, 1, 0, 0, 'active', NULL);
INSERT INTO public.airframe VALUES (2, 'A000003-9', 'QA-02', 1, 27, 2, 0, 0, 'active', NULL);
INSERT INTO public.airframe_type VALUES (1, 'QA');
INSERT INTO public.approved_part VALUES (1, 1, 2, 1);
INSERT INTO public.approved_part VALUES (2, 2, 2, 1);
INSERT INTO public.approved_part VALUES (3, 3, 1, 1);
INSERT INTO public.approved_part VALUES (4, 4, 1, 1);
INSERT INTO public.company VALUES (1, 'Invented Rotors', 1, 1, 14);
INSERT INTO public.company VALUES (2, 'Invented Supplies', 1, 1, 7);
INSERT INTO public.containment VALUES (22, 22, 12);
INSERT INTO public.containment VALUES (23, 23, 22);
INSERT INTO public.containment VALUES (24, 24, 22);
INSERT INTO public.containment VALUES (25, 25, 22);
INSERT INTO public.containment VALUES (26, 26, 22);
INSERT INTO public.containment VALUES (27, 27, 12);
INSERT INTO public.containment VALUES (28, 28, 27);
INSERT INTO public.containment VALUES (29, 29, 27);
INSERT INTO public.containment VALUES (30, 30, 27);
INSERT INTO public.containment VALUES (31, 31, 27);
INSERT INTO public.containment VALUES (37, 37, 15);
INSERT INTO public.containment VALUES (32, 32, 36);
INSERT INTO public.containment VALUES (33, 33, 36);
INSERT INTO public.containment VALUES (34, 34, 36);
INSERT INTO public.containment VALUES (35, 35, 36);
INSERT INTO public.delivery VALUES (1, 'D000002-Y', 1, 'DN-1', 0, 12);
INSERT INTO public.delivery VALUES (2, 'D000003-W', 1, 'DN-1', 0, 14);
INSERT INTO public.delivery VALUES (3, 'D000004-U', 1, 'DN-1', 0, 16);
INSERT INTO public.delivery VALUES (4, 'D000008-M', 1, 'DN-1', 0, 17);
INSERT INTO public.delivery VALUES (5, 'D000009-K', 1, 'DN-1', 0, 18);
INSERT INTO public.event VALUES (1, 'found the store', '2026-03-02T07:00:00.000000Z', 0, 1, NULL, '', 'event 1', '[["insert","person",{"active":1,"code":"P000001-H","event_id":1,"id":1,"is_script":0,"name":"Manager One","same_human_as_id":null}],["insert","person_role",{"active":1,"id":1,"person_id":1,"role":"manager"}],["insert","place",{"active":1,"closed":0,"code":"P000001-H","id":1,"kind":"hands","name":"Manager One","person_id":1,"site_id":null}],["insert","site",{"id":1,"name":"Home","time_zone":"Europe/Oslo"}],["insert","place",{"active":1,"closed":0,"code":"*consumed","id":2,"kind":"consumed","name":"consumed","person_id":null,"site_id":null}],["insert","place",{"active":1,"closed":0,"code":"*lost","id":3,"kind":"lost","name":"lost","person_id":null,"site_id":null}],["insert","place",{"active":1,"closed":0,"code":"*returned to supplier","id":4,"kind":"returned to supplier","name":"returned to supplier","person_id":null,"site_id":null}],["insert","place",{"active":1,"closed":0,"code":"*scrapped","id":5,"kind":"scrapped","name":"scrapped","person_id":null,"site_id":null}],["insert","place",{"active":1,"closed":0,"code":"*sold","id":6,"kind":"sold","name":"sold","person_id":null,"site_id":null}],["insert","place",{"active":1,"closed":0,"code":"*supplier","id":7,"kind":"supplier","name":"supplier","person_id":null,"site_id":null}],["insert","place",{"active":1,"closed":0,"code":"*unaccounted","id":8,"kind":"unaccounted","name":"unaccounted","person_id":null,"site_id":null}],["insert","place",{"active":1,"closed":0,"code":"N000001-E","id":9,"kind":"goods-in","name":"goods-in Home","person_id":null,"site_id":1}],["insert","place",{"active":1,"closed":0,"code":"N000002-C","id":10,"kind":"hold cage","name":"hold cage Home","person_id":null,"site_id":1}],["insert","place",{"active":1,"closed":0,"code":"N000003-A","id":11,"kind":"removed-parts cage","name":"removed-parts cage Home","person_id":null,"site_id":1}],["insert","place",{"active":1,"closed":0,"code":"N000004-8","id":12,"kind":"apron","name":"apron Home","person_id":null,"site_id":1}]]', '0000000000000000000000000000000000000000000000000000000000000000', 'dbd012429a2fde704d6125e6e7523bbdb00357b7375f17c41dc133195e990384');
INSERT INTO public.event VALUES (2, 'add a person', '2026-03-02T07:00:00.000000Z', 0, 1, NULL, '', 'event 2', '[["insert","person",{"active":1,"code":"P000002-F","event_id":2,"id":2,"is_script":0,"name":"Clerk One","same_human_as_id":null}],["insert","person_role",{"active":1,"id":2,"person_id":2,"role":"clerk"}],["insert","place",{"active":1,"closed":0,"code":"P000002-F","id":13,"kind":"hands","name":"Clerk One","person_id":2,"site_id":null}]]', 'dbd012429a2fde704d6125e6e7523bbdb00357b7375f17c41dc133195e990384', '858771dcb549ef1bd27034d2a65efd4f344a34391942adc39fb6af30bfa59098');
INSERT INTO public.event VALUES (3, 'add a person', '2026-03-02T07:00:00.000000Z', 0, 1, NULL, '', 'event 3', '[["insert","person",{"active":1,"code":"P000003-D","event_id":3,"id":3,"is_script":0,"name":"Clerk Two","same_human_as_id":null}],["insert","person_role",{"active":1,"id":3,"person_id":3,"role":"clerk"}],["insert","place",{"active":1,"closed":0,"code":"P000003-D","id":14,"kind":"hands","name":"Clerk Two","person_id":3,"site_id":null}]]', '858771dcb549ef1bd27034d2a65efd4f344a34391942adc39fb6af30bfa59098', 'c37ca6c30f646bd00c83835fda90f1382b1bbbc29131bcfedd54b6348bf78389');
INSERT INTO public.event VALUES (4, 'add a person', '2026-03-02T07:00:00.000000Z', 0, 1, NULL, '', 'event 4', '[["insert","person",{"active":1,"code":"P000005-9","event_id":4,"id":4,"is_script":0,"name":"Technician One","same_human_as_id":null}],["insert","person_role",{"active":1,"id":4,"person_id":4,"role":"technician"}],["insert","place",{"active":1,"closed":0,"code":"P000005-9","id":15,"kind":"hands","name":"Technician One","person_id":4,"site_id":null}]]', 'c37ca6c30f646bd00c83835fda90f1382b1bbbc29131bcfedd54b6348bf78389', 'd43a7e5b1a942210ba12bad48f025dd911b8b2997da087853df5db0d877e2738');
INSERT INTO public.event VALUES (5, 'add a person', '2026-03-02T07:00:00.000000Z', 0, 1, NULL, '', 'event 5', '[["insert","person",{"active":1,"code":"P000006-7","event_id":5,"id":5,"is_script":0,"name":"Inspector One","same_human_as_id":null}],["insert","person_role",{"active":1,"id":5,"person_id":5,"role":"inspector"}],["insert","person_role",{"active":1,"id":6,"person_id":5,"role":"technician"}],["insert","place",{"active":1,"closed":0,"code":"P000006-7","id":16,"kind":"hands","name":"Inspector One","person_id":5,"site_id":null}]]', 'd43a7e5b1a942210ba12bad48f025dd911b8b2997da087853df5db0d877e2738', '19bc77275566f89c08de5d30fd4bc97f9e9508f3c4d692f55d832d7ef576112d');
INSERT INTO public.event VALUES (6, 'add a person', '2026-03-02T07:00:00.000000Z', 0, 1, NULL, '', 'event 6', '[["insert","person",{"active":1,"code":"P000007-5","event_id":6,"id":6,"is_script":0,"name":"Auditor One","same_human_as_id":null}],["insert","person_role",{"active":1,"id":7,"person_id":6,"role":"auditor"}],["insert","place",{"active":1,"closed":0,"code":"P000007-5","id":17,"kind":"hands","name":"Auditor One","person_id":6,"site_id":null}]]', '19bc77275566f89c08de5d30fd4bc97f9e9508f3c4d692f55d832d7ef576112d', '1be4b8b8b974f72e2ffe77a32975c15075bbd91f260fb88c3572cf2bda1dbb9b');
INSERT INTO public.event VALUES (7, 'add a place', '2026-03-02T07:00:00.000000Z', 0, 1, NULL, '', 'event 7', '[["insert","place",{"active":1,"closed":0,"code":"N000005-6","id":18,"kind":"bin","name":"A-01","person_id":null,"site_id":1}]]', '1be4b8b8b974f72e2ffe77a32975c15075bbd91f260fb88c3572cf2bda1dbb9b', '21c8b815ec528b6c734ea5dccca44c0eaee10dadef16074e0394c87af130137d');
INSERT INTO public.event VALUES (8, 'add a place', '2026-03-02T07:00:00.000000Z', 0, 1, NULL, '', 'event 8', '[["insert","place",{"active":1,"closed":0,"code":"N000006-4","id":19,"kind":"bin","name":"A-02","person_id":null,"site_id":1}]]', '21c8b815ec528b6c734ea5dccca44c0eaee10dadef16074e0394c87af130137d', '76a25705b4ffb670a7f0ae007f8b20b9081977fd748de48ccd0a388d3dfb789b');
INSERT INTO public.event VALUES (9, 'add a place', '2026-03-02T07:00:00.000000Z', 0, 1, NULL, '', 'event 9', '[["insert","place",{"active":1,"closed":0,"code":"N000007-2","id":20,"kind":"bench","name":"Bench 1","person_id":null,"site_id":1}]]', '76a25705b4ffb670a7f0ae007f8b20b9081977fd748de48ccd0a388d3dfb789b', 'd88c86a9834b395a260405cd28b5d3adaabb6d4e3f747ac089b25d06c0fb8454');
INSERT INTO public.event VALUES (10, 'add a place', '2026-03-02T07:00:00.000000Z', 0, 1, NULL, '', 'event 10', '[["insert","place",{"active":1,"closed":0,"code":"N000009-X","id":21,"kind":"van","name":"Van 1","person_id":null,"site_id":1}]]', 'd88c86a9834b395a260405cd28b5d3adaabb6d4e3f747ac089b25d06c0fb8454', '058a1f16752a2d8aa748cfdea5cf5051d76ac53fcebf5a3a7f43e86cc0e99e7e');
INSERT INTO public.event VALUES (11, 'set up the invented world', '2026-03-02T07:00:00.000000Z', 0, 1, NULL, '', 'event 11', '[["insert","company",{"id":1,"is_maker":1,"is_supplier":1,"lead_time_days":14,"name":"Invented Rotors"}],["insert","company",{"id":2,"is_maker":1,"is_supplier":1,"lead_time_days":7,"name":"Invented Supplies"}],["insert","part",{"blades_per_rotor":2,"drive":"","expiry_needed":0,"head":"","hub_in_set":0,"hub_part_id":null,"id":1,"kind":"blade","length_um":null,"life_days":null,"life_flights":null,"life_minutes":18000,"maker_id":1,"mark_revision":1,"mixes_lots":0,"name":"rotor blade 18 in CW","number":"RB-18-CW","opened_life_days":null,"pack_quantity":1,"pairing_source":"invented maker''s sheet 1","pairing_suffices":1,"paper_class":"rotor","property_class":"","revision":1,"sense":"CW","shelf_life_days":null,"single_dose":0,"single_use":0,"source":"","superseded_by_id":null,"superseded_how":"","thread":"","thread_hand":null,"tolerance_g_um":5000,"tolerance_source":"invented maker''s sheet 1","tracking":"serial","trim_allowed":0,"unit":"pieces"}],["insert","part_mark",{"id":1,"mark":"R","part_id":1,"revision":1,"sense":"CW"}],["insert","part_mark",{"id":2,"mark":"CW","part_id":1,"revision":1,"sense":"CW"}],["insert","part",{"blades_per_rotor":2,"drive":"","expiry_needed":0,"head":"","hub_in_set":0,"hub_part_id":null,"id":2,"kind":"blade","length_um":null,"life_days":null,"life_flights":null,"life_minutes":18000,"maker_id":1,"mark_revision":1,"mixes_lots":0,"name":"rotor blade 18 in CCW","number":"RB-18-CCW","opened_life_days":null,"pack_quantity":1,"pairing_source":"invented maker''s sheet 1","pairing_suffices":1,"paper_class":"rotor","property_class":"","revision":1,"sense":"CCW","shelf_life_days":null,"single_dose":0,"single_use":0,"source":"","superseded_by_id":null,"superseded_how":"","thread":"","thread_hand":null,"tolerance_g_um":5000,"tolerance_source":"invented maker''s sheet 1","tracking":"serial","trim_allowed":0,"unit":"pieces"}],["insert","part_mark",{"id":3,"mark":"L","part_id":2,"revision":1,"sense":"CCW"}],["insert","part_mark",{"id":4,"mark":"CCW","part_id":2,"revision":1,"sense":"CCW"}],["insert","part",{"blades_per_rotor":null,"drive":"hex","expiry_needed":0,"head":"socket head","hub_in_set":0,"hub_part_id":null,"id":3,"kind":"fastener","length_um":8000,"life_days":null,"life_flights":null,"life_minutes":null,"maker_id":1,"mark_revision":0,"mixes_lots":0,"name":"screw M3 x 8","number":"SC-M3x8","opened_life_days":null,"pack_quantity":8,"pairing_source":"","pairing_suffices":0,"paper_class":"standard part","property_class":"A2-70","revision":1,"sense":null,"shelf_life_days":null,"single_dose":0,"single_use":1,"source":"","superseded_by_id":null,"superseded_how":"","thread":"M3","thread_hand":null,"tolerance_g_um":null,"tolerance_source":"","tracking":"lot","trim_allowed":0,"unit":"pieces"}],["insert","part",{"blades_per_rotor":null,"drive":"","expiry_needed":0,"head":"","hub_in_set":0,"hub_part_id":null,"id":4,"kind":"fastener","length_um":null,"life_days":null,"life_flights":null,"life_minutes":null,"maker_id":1,"mark_revision":0,"mixes_lots":0,"name":"washer M3","number":"WA-M3","opened_life_days":null,"pack_quantity":1,"pairing_source":"","pairing_suffices":0,"paper_class":"standard part","property_class":"","revision":1,"sense":null,"shelf_life_days":null,"single_dose":0,"single_use":1,"source":"","superseded_by_id":null,"superseded_how":"","thread":"","thread_hand":null,"tolerance_g_um":null,"tolerance_source":"","tracking":"lot","trim_allowed":0,"unit":"pieces"}],["insert","part",{"blades_per_rotor":null,"drive":"","expiry_needed":1,"head":"","hub_in_set":0,"hub_part_id":null,"id":5,"kind":"consumable","length_um":null,"life_days":null,"life_flights":null,"life_minutes":null,"maker_id":1,"mark_revision":0,"mixes_lots":0,"name":"threadlocker, medium","number":"TL-10","opened_life_days":365,"pack_quantity":10000,"pairing_source":"","pairing_suffices":0,"paper_class":"material","property_class":"","revision":1,"sense":null,"shelf_life_days":730,"single_dose":0,"single_use":0,"source":"","superseded_by_id":null,"superseded_how":"","thread":"","thread_hand":null,"tolerance_g_um":null,"tolerance_source":"","tracking":"lot","trim_allowed":0,"unit":"volume_ul"}],["insert","paper_kind",{"active":1,"id":1,"kind":"certificate of conformity","paper_class":"rotor"}],["insert","paper_kind",{"active":1,"id":2,"kind":"certificate of conformity","paper_class":"standard part"}],["insert","paper_kind",{"active":1,"id":3,"kind":"certificate of conformity","paper_class":"material"}],["insert","airframe_type",{"id":1,"name":"QA"}],["insert","type_revision",{"airframe_type_id":1,"id":1,"name":"A","retorque_minutes":600,"settings_revision":1,"source":"invented"}],["insert","hub_fixing",{"engagement_max_um":null,"engagement_min_um":null,"id":1,"locker_part_id":5,"locker_ul_per_screw":50,"name":"hub","screw_part_id":3,"screws_per_hub":4,"stack_um":null,"torque_condition":"threadlocker","torque_method":"torque","torque_mnm":800,"torque_source":"invented manual 5.2","torque_text":"","torque_tolerance_mnm":null,"type_revision_id":1,"washer_part_id":4,"washers_per_hub":4}],["insert","type_position",{"alias":"1","angle_mdeg":45000,"arm":"FR","drive":"tractor","hub_fixing_id":1,"id":1,"level":"single","name":"FR","radius_um":300000,"rank":1,"sense":"CCW","type_revision_id":1}],["insert","approved_part",{"active":1,"id":1,"part_id":2,"type_position_id":1}],["insert","position_group",{"id":1,"name":"front","type_position_id":1,"type_revision_id":1}],["insert","type_position",{"alias":"2","angle_mdeg":-135000,"arm":"RL","drive":"tractor","hub_fixing_id":1,"id":2,"level":"single","name":"RL","radius_um":300000,"rank":2,"sense":"CCW","type_revision_id":1}],["insert","approved_part",{"active":1,"id":2,"part_id":2,"type_position_id":2}],["insert","position_group",{"id":2,"name":"rear","type_position_id":2,"type_revision_id":1}],["insert","type_position",{"alias":"3","angle_mdeg":-45000,"arm":"FL","drive":"tractor","hub_fixing_id":1,"id":3,"level":"single","name":"FL","radius_um":300000,"rank":3,"sense":"CW","type_revision_id":1}],["insert","approved_part",{"active":1,"id":3,"part_id":1,"type_position_id":3}],["insert","position_group",{"id":3,"name":"front","type_position_id":3,"type_revision_id":1}],["insert","type_position",{"alias":"4","angle_mdeg":135000,"arm":"RR","drive":"tractor","hub_fixing_id":1,"id":4,"level":"single","name":"RR","radius_um":300000,"rank":4,"sense":"CW","type_revision_id":1}],["insert","approved_part",{"active":1,"id":4,"part_id":1,"type_position_id":4}],["insert","position_group",{"id":4,"name":"rear","type_position_id":4,"type_revision_id":1}],["insert","place",{"active":1,"closed":0,"code":"A000001-D","id":22,"kind":"airframe","name":"QA-01","person_id":null,"site_id":null}],["insert","airframe",{"code":"A000001-D","flights":0,"id":1,"minutes":0,"owner_id":null,"place_id":22,"sense_map_id":null,"state":"active","tail":"QA-01","type_revision_id":1}],["insert","usage_reading",{"airframe_id":1,"event_id":11,"flights":0,"id":1,"minutes":0,"source":"new"}],["insert","sense_map",{"airframe_id":1,"cleared_event_id":null,"event_id":11,"id":1,"revision":1,"source":"layout of the type revision","verified_event_id":11}],["update","airframe",1,{"sense_map_id":1},{"sense_map_id":null}],["insert","place",{"active":1,"closed":0,"code":"X000001-T","id":23,"kind":"position","name":"QA-01 FR","person_id":null,"site_id":null}],["insert","position",{"active":1,"airframe_id":1,"code":"X000001-T","id":1,"name":"FR","place_id":23,"type_position_id":1}],["insert","sense_map_line",{"id":1,"position_id":1,"sense":"CCW","sense_map_id":1}],["insert","place",{"active":1,"closed":0,"code":"X000002-R","id":24,"kind":"position","name":"QA-01 RL","person_id":null,"site_id":null}],["insert","position",{"active":1,"airframe_id":1,"code":"X000002-R","id":2,"name":"RL","place_id":24,"type_position_id":2}],["insert","sense_map_line",{"id":2,"position_id":2,"sense":"CCW","sense_map_id":1}],["insert","place",{"active":1,"closed":0,"code":"X000003-P","id":25,"kind":"position","name":"QA-01 FL","person_id":null,"site_id":null}],["insert","position",{"active":1,"airframe_id":1,"code":"X000003-P","id":3,"name":"FL","place_id":25,"type_position_id":3}],["insert","sense_map_line",{"id":3,"position_id":3,"sense":"CW","sense_map_id":1}],["insert","place",{"active":1,"closed":0,"code":"X000004-N","id":26,"kind":"position","name":"QA-01 RR","person_id":null,"site_id":null}],["insert","position",{"active":1,"airframe_id":1,"code":"X000004-N","id":4,"name":"RR","place_id":26,"type_position_id":4}],["insert","sense_map_line",{"id":4,"position_id":4,"sense":"CW","sense_map_id":1}],["insert","place",{"active":1,"closed":0,"code":"A000003-9","id":27,"kind":"airframe","name":"QA-02","person_id":null,"site_id":null}],["insert","airframe",{"code":"A000003-9","flights":0,"id":2,"minutes":0,"owner_id":null,"place_id":27,"sense_map_id":null,"state":"active","tail":"QA-02","type_revision_id":1}],["insert","usage_reading",{"airframe_id":2,"event_id":11,"flights":0,"id":2,"minutes":0,"source":"new"}],["insert","sense_map",{"airframe_id":2,"cleared_event_id":null,"event_id":11,"id":2,"revision":1,"source":"layout of the type revision","verified_event_id":11}],["update","airframe",2,{"sense_map_id":2},{"sense_map_id":null}],["insert","place",{"active":1,"closed":0,"code":"X000005-L","id":28,"kind":"position","name":"QA-02 FR","person_id":null,"site_id":null}],["insert","position",{"active":1,"airframe_id":2,"code":"X000005-L","id":5,"name":"FR","place_id":28,"type_position_id":1}],["insert","sense_map_line",{"id":5,"position_id":5,"sense":"CCW","sense_map_id":2}],["insert","place",{"active":1,"closed":0,"code":"X000006-J","id":29,"kind":"position","name":"QA-02 RL","person_id":null,"site_id":null}],["insert","position",{"active":1,"airframe_id":2,"code":"X000006-J","id":6,"name":"RL","place_id":29,"type_position_id":2}],["insert","sense_map_line",{"id":6,"position_id":6,"sense":"CCW","sense_map_id":2}],["insert","place",{"active":1,"closed":0,"code":"X000007-H","id":30,"kind":"position","name":"QA-02 FL","person_id":null,"site_id":null}],["insert","position",{"active":1,"airframe_id":2,"code":"X000007-H","id":7,"name":"FL","place_id":30,"type_position_id":3}],["insert","sense_map_line",{"id":7,"position_id":7,"sense":"CW","sense_map_id":2}],["insert","place",{"active":1,"closed":0,"code":"X000008-F","id":31,"kind":"position","name":"QA-02 RR","person_id":null,"site_id":null}],["insert","position",{"active":1,"airframe_id":2,"code":"X000008-F","id":8,"name":"RR","place_id":31,"type_position_id":4}],["insert","sense_map_line",{"id":8,"position_id":8,"sense":"CW","sense_map_id":2}],["insert","tool",{"active":1,"calibrated_until_on":"2027-01-31","code":"W000001-9","id":1,"kind":"torque","max_mnm":5000,"min_mnm":500,"name":"Torque driver 1","repeatability_ug":null,"resolution_ug":null,"ruler_um":null,"uncertainty_ug":null}],["insert","tool",{"active":1,"calibrated_until_on":"2027-01-31","code":"W000002-7","id":2,"kind":"scale","max_mnm":null,"min_mnm":null,"name":"Scale 1","repeatability_ug":1000,"resolution_ug":1000,"ruler_um":500,"uncertainty_ug":2000}]]', '058a1f16752a2d8aa748cfdea5cf5051d76ac53fcebf5a3a7f43e86cc0e99e7e', 'e0632032864c72d121a5c9b7e37dc267c344399211f27aa27161ef9f082ce302');
INSERT INTO public.event VALUES (12, 'put in stock', '2026-03-02T07:01:00.000000Z', 0, 2, NULL, '', 'event 12', '[["insert","lot",{"code":"L000002-9","id":1,"lot_code":"BLADES-1-RB-18-CW","maker_id":1,"part_id":1,"supplier_id":1}],["insert","delivery",{"code":"D000002-Y","event_id":12,"id":1,"is_opening":0,"reference":"DN-1","supplier_id":1}],["insert","receipt_line",{"code":"Y000001-C","delivery_id":1,"event_id":12,"expires_on":null,"expiry_kind":"none","history_known":1,"id":1,"lot_id":1,"made_on":null,"part_id":1,"quantity":4,"raw_scan":"","unit":"pieces"}],["insert","paper",{"event_id":12,"id":1,"issuer":"Invented Rotors","kind":"certificate of conformity","number":"C-1","receipt_line_id":1}]]', 'e0632032864c72d121a5c9b7e37dc267c344399211f27aa27161ef9f082ce302', '59f284824797e9c63792e52142331e67a03832da112193ffeeadab0996a931ce');
INSERT INTO public.event VALUES (13, 'make sets', '2026-03-02T07:01:00.000000Z', 0, 2, NULL, '', 'event 13', '[["insert","place",{"active":1,"closed":0,"code":"R000001-K","id":32,"kind":"rotor set","name":"R000001-K","person_id":null,"site_id":null}],["insert","rotor_set",{"bound_position_id":null,"code":"R000001-K","condition":"serviceable","event_id":13,"history_known":1,"id":1,"match_record_id":null,"part_id":1,"place_id":32,"rematches":0,"sense":"CW","state":"complete","used_flights":0,"used_minutes":0,"used_since_on":null}],["insert","match_record",{"event_id":13,"id":1,"method":"measured","residual_g_um":1200,"rotor_set_id":1,"source":"bench","tape":"","tolerance_g_um":5000,"tolerance_source":"invented maker''s sheet 1","tool_id":null,"uncertainty_g_um":800}],["update","rotor_set",1,{"match_record_id":1},{"match_record_id":null}],["insert","piece",{"code":"U000001-6","event_id":13,"expires_on":null,"id":1,"maker_id":1,"mark":"","mass_ug":null,"moment_g_um":null,"note":"","opened_on":null,"pair_code":"","part_id":1,"receipt_line_id":1,"sense":"CW","serial":null,"weighed_with_id":null}],["insert","match_reading",{"id":1,"match_record_id":1,"moment_g_um":30000,"piece_id":1,"slot":1}],["insert","piece",{"code":"U000002-4","event_id":13,"expires_on":null,"id":2,"maker_id":1,"mark":"","mass_ug":null,"moment_g_um":null,"note":"","opened_on":null,"pair_code":"","part_id":1,"receipt_line_id":1,"sense":"CW","serial":null,"weighed_with_id":null}],["insert","match_reading",{"id":2,"match_record_id":1,"moment_g_um":30000,"piece_id":2,"slot":2}],["update","place",32,{"closed":1},{"closed":0}],["insert","place",{"active":1,"closed":0,"code":"R000003-G","id":33,"kind":"rotor set","name":"R000003-G","person_id":null,"site_id":null}],["insert","rotor_set",{"bound_position_id":null,"code":"R000003-G","condition":"serviceable","event_id":13,"history_known":1,"id":2,"match_record_id":null,"part_id":1,"place_id":33,"rematches":0,"sense":"CW","state":"complete","used_flights":0,"used_minutes":0,"used_since_on":null}],["insert","match_record",{"event_id":13,"id":2,"method":"measured","residual_g_um":1200,"rotor_set_id":2,"source":"bench","tape":"","tolerance_g_um":5000,"tolerance_source":"invented maker''s sheet 1","tool_id":null,"uncertainty_g_um":800}],["update","rotor_set",2,{"match_record_id":2},{"match_record_id":null}],["insert","piece",{"code":"U000003-2","event_id":13,"expires_on":null,"id":3,"maker_id":1,"mark":"","mass_ug":null,"moment_g_um":null,"note":"","opened_on":null,"pair_code":"","part_id":1,"receipt_line_id":1,"sense":"CW","serial":null,"weighed_with_id":null}],["insert","match_reading",{"id":3,"match_record_id":2,"moment_g_um":30000,"piece_id":3,"slot":1}],["insert","piece",{"code":"U000005-X","event_id":13,"expires_on":null,"id":4,"maker_id":1,"mark":"","mass_ug":null,"moment_g_um":null,"note":"","opened_on":null,"pair_code":"","part_id":1,"receipt_line_id":1,"sense":"CW","serial":null,"weighed_with_id":null}],["insert","match_reading",{"id":4,"match_record_id":2,"moment_g_um":30000,"piece_id":4,"slot":2}],["update","place",33,{"closed":1},{"closed":0}]]', '59f284824797e9c63792e52142331e67a03832da112193ffeeadab0996a931ce', 'e93741638c2afbc5ff2144a72f169670226f85f9fbd5000d82dd21d838c14236');
INSERT INTO public.event VALUES (25, 'issue a kit', '2026-03-02T07:30:00.000000Z', 0, 2, 4, '', 'event 25', '[["update","kit",1,{"state":"issued"},{"state":"sealed"}],["insert","voucher",{"airframe_id":1,"code":"V000003-M","event_id":25,"giver_id":2,"id":1,"job_id":1,"kit_id":1,"receiver_id":4,"state":"open"}]]', '1b1e4effa84deb319e32cb6f344a0129d895d44dd3f742730c3283c1494b89fc', '926d4068e2859731d58e340e1a15d358a266268eeffeb4d77ac5b864a40fef53');
INSERT INTO public.event VALUES (14, 'put in stock', '2026-03-02T07:01:00.000000Z', 0, 2, NULL, '', 'event 14', '[["insert","lot",{"code":"L000003-7","id":2,"lot_code":"BLADES-1-RB-18-CCW","maker_id":1,"part_id":2,"supplier_id":1}],["insert","delivery",{"code":"D000003-W","event_id":14,"id":2,"is_opening":0,"reference":"DN-1","supplier_id":1}],["insert","receipt_line",{"code":"Y000002-A","delivery_id":2,"event_id":14,"expires_on":null,"expiry_kind":"none","history_known":1,"id":2,"lot_id":2,"made_on":null,"part_id":2,"quantity":4,"raw_scan":"","unit":"pieces"}],["insert","paper",{"event_id":14,"id":2,"issuer":"Invented Rotors","kind":"certificate of conformity","number":"C-1","receipt_line_id":2}]]', 'e93741638c2afbc5ff2144a72f169670226f85f9fbd5000d82dd21d838c14236', 'a01c760d2f16c0b1dfa647e03c282bedee45fad94ad244346c61fe236b42e05b');
INSERT INTO public.event VALUES (15, 'make sets', '2026-03-02T07:01:00.000000Z', 0, 2, NULL, '', 'event 15', '[["insert","place",{"active":1,"closed":0,"code":"R000004-E","id":34,"kind":"rotor set","name":"R000004-E","person_id":null,"site_id":null}],["insert","rotor_set",{"bound_position_id":null,"code":"R000004-E","condition":"serviceable","event_id":15,"history_known":1,"id":3,"match_record_id":null,"part_id":2,"place_id":34,"rematches":0,"sense":"CCW","state":"complete","used_flights":0,"used_minutes":0,"used_since_on":null}],["insert","match_record",{"event_id":15,"id":3,"method":"measured","residual_g_um":1200,"rotor_set_id":3,"source":"bench","tape":"","tolerance_g_um":5000,"tolerance_source":"invented maker''s sheet 1","tool_id":null,"uncertainty_g_um":800}],["update","rotor_set",3,{"match_record_id":3},{"match_record_id":null}],["insert","piece",{"code":"U000006-V","event_id":15,"expires_on":null,"id":5,"maker_id":1,"mark":"","mass_ug":null,"moment_g_um":null,"note":"","opened_on":null,"pair_code":"","part_id":2,"receipt_line_id":2,"sense":"CCW","serial":null,"weighed_with_id":null}],["insert","match_reading",{"id":5,"match_record_id":3,"moment_g_um":30000,"piece_id":5,"slot":1}],["insert","piece",{"code":"U000007-T","event_id":15,"expires_on":null,"id":6,"maker_id":1,"mark":"","mass_ug":null,"moment_g_um":null,"note":"","opened_on":null,"pair_code":"","part_id":2,"receipt_line_id":2,"sense":"CCW","serial":null,"weighed_with_id":null}],["insert","match_reading",{"id":6,"match_record_id":3,"moment_g_um":30000,"piece_id":6,"slot":2}],["update","place",34,{"closed":1},{"closed":0}],["insert","place",{"active":1,"closed":0,"code":"R000005-C","id":35,"kind":"rotor set","name":"R000005-C","person_id":null,"site_id":null}],["insert","rotor_set",{"bound_position_id":null,"code":"R000005-C","condition":"serviceable","event_id":15,"history_known":1,"id":4,"match_record_id":null,"part_id":2,"place_id":35,"rematches":0,"sense":"CCW","state":"complete","used_flights":0,"used_minutes":0,"used_since_on":null}],["insert","match_record",{"event_id":15,"id":4,"method":"measured","residual_g_um":1200,"rotor_set_id":4,"source":"bench","tape":"","tolerance_g_um":5000,"tolerance_source":"invented maker''s sheet 1","tool_id":null,"uncertainty_g_um":800}],["update","rotor_set",4,{"match_record_id":4},{"match_record_id":null}],["insert","piece",{"code":"U000008-R","event_id":15,"expires_on":null,"id":7,"maker_id":1,"mark":"","mass_ug":null,"moment_g_um":null,"note":"","opened_on":null,"pair_code":"","part_id":2,"receipt_line_id":2,"sense":"CCW","serial":null,"weighed_with_id":null}],["insert","match_reading",{"id":7,"match_record_id":4,"moment_g_um":30000,"piece_id":7,"slot":1}],["insert","piece",{"code":"U000009-P","event_id":15,"expires_on":null,"id":8,"maker_id":1,"mark":"","mass_ug":null,"moment_g_um":null,"note":"","opened_on":null,"pair_code":"","part_id":2,"receipt_line_id":2,"sense":"CCW","serial":null,"weighed_with_id":null}],["insert","match_reading",{"id":8,"match_record_id":4,"moment_g_um":30000,"piece_id":8,"slot":2}],["update","place",35,{"closed":1},{"closed":0}]]', 'a01c760d2f16c0b1dfa647e03c282bedee45fad94ad244346c61fe236b42e05b', 'e2fbf5ea545c05180690af7862a4d1a06240ea407cf5252f1cdaaa634289aba3');
INSERT INTO public.event VALUES (16, 'put in stock', '2026-03-02T07:01:00.000000Z', 0, 2, NULL, '', 'event 16', '[["insert","lot",{"code":"L000004-5","id":3,"lot_code":"S-1","maker_id":1,"part_id":3,"supplier_id":1}],["insert","delivery",{"code":"D000004-U","event_id":16,"id":3,"is_opening":0,"reference":"DN-1","supplier_id":1}],["insert","receipt_line",{"code":"Y000003-8","delivery_id":3,"event_id":16,"expires_on":null,"expiry_kind":"none","history_known":1,"id":3,"lot_id":3,"made_on":null,"part_id":3,"quantity":40,"raw_scan":"","unit":"pieces"}],["insert","paper",{"event_id":16,"id":3,"issuer":"Invented Rotors","kind":"certificate of conformity","number":"C-1","receipt_line_id":3}]]', 'e2fbf5ea545c05180690af7862a4d1a06240ea407cf5252f1cdaaa634289aba3', '38b4210cbdd185cf0a7a2ba72b5bc97bf1ca97669d0b0d856f52357d14e2ef5a');
INSERT INTO public.event VALUES (17, 'put in stock', '2026-03-02T07:01:00.000000Z', 0, 2, NULL, '', 'event 17', '[["insert","lot",{"code":"L000005-3","id":4,"lot_code":"W-1","maker_id":1,"part_id":4,"supplier_id":1}],["insert","delivery",{"code":"D000008-M","event_id":17,"id":4,"is_opening":0,"reference":"DN-1","supplier_id":1}],["insert","receipt_line",{"code":"Y000004-6","delivery_id":4,"event_id":17,"expires_on":null,"expiry_kind":"none","history_known":1,"id":4,"lot_id":4,"made_on":null,"part_id":4,"quantity":40,"raw_scan":"","unit":"pieces"}],["insert","paper",{"event_id":17,"id":4,"issuer":"Invented Rotors","kind":"certificate of conformity","number":"C-1","receipt_line_id":4}]]', '38b4210cbdd185cf0a7a2ba72b5bc97bf1ca97669d0b0d856f52357d14e2ef5a', '0d98fe9f9a61b14af7c9f73558335e46fcd10707cd3413cff8ce41286aef9c11');
INSERT INTO public.event VALUES (18, 'put in stock', '2026-03-02T07:01:00.000000Z', 0, 2, NULL, '', 'event 18', '[["insert","lot",{"code":"L000006-1","id":5,"lot_code":"TL-1","maker_id":1,"part_id":5,"supplier_id":1}],["insert","delivery",{"code":"D000009-K","event_id":18,"id":5,"is_opening":0,"reference":"DN-1","supplier_id":1}],["insert","receipt_line",{"code":"Y000005-4","delivery_id":5,"event_id":18,"expires_on":"2026-12-31","expiry_kind":"date","history_known":1,"id":5,"lot_id":5,"made_on":null,"part_id":5,"quantity":10000,"raw_scan":"","unit":"volume_ul"}],["insert","paper",{"event_id":18,"id":5,"issuer":"Invented Rotors","kind":"certificate of conformity","number":"C-1","receipt_line_id":5}]]', '0d98fe9f9a61b14af7c9f73558335e46fcd10707cd3413cff8ce41286aef9c11', '0f725fbab0bf786045f553595ff5977af1ff3678b77d4cdf584905f6c483db83');
INSERT INTO public.event VALUES (19, 'make a bottle', '2026-03-02T07:01:00.000000Z', 0, 2, NULL, '', 'event 19', '[["insert","piece",{"code":"U000010-4","event_id":19,"expires_on":null,"id":9,"maker_id":1,"mark":"","mass_ug":null,"moment_g_um":null,"note":"","opened_on":null,"pair_code":"","part_id":5,"receipt_line_id":5,"sense":null,"serial":null,"weighed_with_id":null}]]', '0f725fbab0bf786045f553595ff5977af1ff3678b77d4cdf584905f6c483db83', 'b537a54dab86f6b7dab71b70c2238e37405b87a55bb1d49d46713c103c7ce469');
INSERT INTO public.event VALUES (20, 'open a job', '2026-03-02T07:02:00.000000Z', 0, 4, NULL, 'rotor change', 'event 20', '[["insert","place",{"active":1,"closed":0,"code":"J000001-8","id":36,"kind":"job","name":"J000001-8","person_id":null,"site_id":null}],["insert","job",{"airframe_id":1,"checked_event_id":null,"closed_event_id":null,"code":"J000001-8","event_id":20,"id":1,"place_id":36,"purpose":"rotor change","state":"open"}],["insert","job_position",{"id":1,"job_id":1,"position_id":1,"state":"to do"}],["insert","job_position",{"id":2,"job_id":1,"position_id":2,"state":"to do"}],["insert","job_position",{"id":3,"job_id":1,"position_id":3,"state":"to do"}],["insert","job_position",{"id":4,"job_id":1,"position_id":4,"state":"to do"}]]', 'b537a54dab86f6b7dab71b70c2238e37405b87a55bb1d49d46713c103c7ce469', 'd2816e91dfd3ae0385b805aead7cb289ea2467a4a4e968eccd035998b5143c5f');
INSERT INTO public.event VALUES (21, 'build a kit', '2026-03-02T07:05:00.000000Z', 0, 3, NULL, '', 'event 21', '[["insert","place",{"active":1,"closed":0,"code":"K000004-M","id":37,"kind":"kit","name":"K000004-M","person_id":null,"site_id":null}],["insert","kit",{"airframe_id":null,"built_by_id":3,"checked_by_id":null,"code":"K000004-M","event_id":21,"expires_on":null,"id":1,"job_id":null,"place_id":37,"purpose":"full","seal":null,"settings_revision":1,"state":"building","type_revision_id":1}],["insert","kit_position",{"id":1,"kit_id":1,"sense":"CCW","type_position_id":1}],["insert","kit_position",{"id":2,"kit_id":1,"sense":"CCW","type_position_id":2}],["insert","kit_position",{"id":3,"kit_id":1,"sense":"CW","type_position_id":3}],["insert","kit_position",{"id":4,"kit_id":1,"sense":"CW","type_position_id":4}],["insert","kit_line",{"hubs":0,"id":1,"kind":"rotor set","kit_id":1,"part_id":1,"per_hub":0,"quantity":2,"rank":1,"sense":"CW","unit":"pieces"}],["insert","kit_line",{"hubs":0,"id":2,"kind":"rotor set","kit_id":1,"part_id":2,"per_hub":0,"quantity":2,"rank":2,"sense":"CCW","unit":"pieces"}],["insert","kit_line",{"hubs":4,"id":3,"kind":"screw","kit_id":1,"part_id":3,"per_hub":4,"quantity":16,"rank":3,"sense":null,"unit":"pieces"}],["insert","kit_line",{"hubs":4,"id":4,"kind":"washer","kit_id":1,"part_id":4,"per_hub":4,"quantity":16,"rank":4,"sense":null,"unit":"pieces"}],["insert","kit_line",{"hubs":0,"id":5,"kind":"threadlocker","kit_id":1,"part_id":5,"per_hub":0,"quantity":800,"rank":5,"sense":null,"unit":"volume_ul"}],["insert","kit_pick",{"active":1,"event_id":21,"id":1,"kit_id":1,"kit_line_id":1,"piece_id":null,"quantity":1,"receipt_line_id":null,"rotor_set_id":1,"type_position_id":null}],["insert","kit_pick",{"active":1,"event_id":21,"id":2,"kit_id":1,"kit_line_id":1,"piece_id":null,"quantity":1,"receipt_line_id":null,"rotor_set_id":2,"type_position_id":null}],["insert","kit_pick",{"active":1,"event_id":21,"id":3,"kit_id":1,"kit_line_id":2,"piece_id":null,"quantity":1,"receipt_line_id":null,"rotor_set_id":3,"type_position_id":null}],["insert","kit_pick",{"active":1,"event_id":21,"id":4,"kit_id":1,"kit_line_id":2,"piece_id":null,"quantity":1,"receipt_line_id":null,"rotor_set_id":4,"type_position_id":null}],["insert","kit_pick",{"active":1,"event_id":21,"id":5,"kit_id":1,"kit_line_id":3,"piece_id":null,"quantity":4,"receipt_line_id":3,"rotor_set_id":null,"type_position_id":1}],["insert","kit_pick",{"active":1,"event_id":21,"id":6,"kit_id":1,"kit_line_id":3,"piece_id":null,"quantity":4,"receipt_line_id":3,"rotor_set_id":null,"type_position_id":2}],["insert","kit_pick",{"active":1,"event_id":21,"id":7,"kit_id":1,"kit_line_id":3,"piece_id":null,"quantity":4,"receipt_line_id":3,"rotor_set_id":null,"type_position_id":3}],["insert","kit_pick",{"active":1,"event_id":21,"id":8,"kit_id":1,"kit_line_id":3,"piece_id":null,"quantity":4,"receipt_line_id":3,"rotor_set_id":null,"type_position_id":4}],["insert","kit_pick",{"active":1,"event_id":21,"id":9,"kit_id":1,"kit_line_id":4,"piece_id":null,"quantity":4,"receipt_line_id":4,"rotor_set_id":null,"type_position_id":1}],["insert","kit_pick",{"active":1,"event_id":21,"id":10,"kit_id":1,"kit_line_id":4,"piece_id":null,"quantity":4,"receipt_line_id":4,"rotor_set_id":null,"type_position_id":2}],["insert","kit_pick",{"active":1,"event_id":21,"id":11,"kit_id":1,"kit_line_id":4,"piece_id":null,"quantity":4,"receipt_line_id":4,"rotor_set_id":null,"type_position_id":3}],["insert","kit_pick",{"active":1,"event_id":21,"id":12,"kit_id":1,"kit_line_id":4,"piece_id":null,"quantity":4,"receipt_line_id":4,"rotor_set_id":null,"type_position_id":4}],["insert","kit_pick",{"active":1,"event_id":21,"id":13,"kit_id":1,"kit_line_id":5,"piece_id":9,"quantity":10000,"receipt_line_id":5,"rotor_set_id":null,"type_position_id":null}]]', 'd2816e91dfd3ae0385b805aead7cb289ea2467a4a4e968eccd035998b5143c5f', 'e2133036f287a13506f8f9ac0cc8fae6bfe7b0edbe1b7e0345d00f5beec7bb9b');
INSERT INTO public.event VALUES (22, 'check a kit', '2026-03-02T07:05:00.000000Z', 0, 2, NULL, '', 'event 22', '[["update","place",37,{"closed":1},{"closed":0}],["update","kit",1,{"checked_by_id":2,"state":"checked"},{"checked_by_id":null,"state":"building"}]]', 'e2133036f287a13506f8f9ac0cc8fae6bfe7b0edbe1b7e0345d00f5beec7bb9b', '5a31d22a062c8ff02b5e5d13a887f21f880f0f794542eddce8c35e586770cdfc');
INSERT INTO public.event VALUES (23, 'seal a kit', '2026-03-02T07:05:00.000000Z', 0, 2, NULL, '', 'event 23', '[["update","kit",1,{"expires_on":"2026-12-31","seal":"0001","state":"sealed"},{"expires_on":null,"seal":null,"state":"checked"}]]', '5a31d22a062c8ff02b5e5d13a887f21f880f0f794542eddce8c35e586770cdfc', '1fa45678dfe5b24818dfd154b3f32a2aeb10f731f8498f1cadab193245915eea');
INSERT INTO public.event VALUES (24, 'put a kit away', '2026-03-02T07:05:00.000000Z', 0, 2, NULL, '', 'event 24', '[]', '1fa45678dfe5b24818dfd154b3f32a2aeb10f731f8498f1cadab193245915eea', '1b1e4effa84deb319e32cb6f344a0129d895d44dd3f742730c3283c1494b89fc');
INSERT INTO public.event VALUES (26, 'open a kit at the aircraft', '2026-03-02T07:31:00.000000Z', 0, 4, NULL, '', 'event 26', '[["update","place",37,{"closed":0},{"closed":1}],["update","place",37,{"active":0},{"active":1}],["update","kit",1,{"state":"opened"},{"state":"issued"}]]', '926d4068e2859731d58e340e1a15d358a266268eeffeb4d77ac5b864a40fef53', 'b5501e61190987eafc92b255f21d3f2814a2a458f559ef09d4dedcda0755b024');
INSERT INTO public.holding VALUES (1, 1, NULL, 7, 'on hold', -4);
INSERT INTO public.holding VALUES (3, 1, 1, 32, 'serviceable', 1);
INSERT INTO public.holding VALUES (4, 1, 2, 32, 'serviceable', 1);
INSERT INTO public.holding VALUES (5, 1, 3, 33, 'serviceable', 1);
INSERT INTO public.holding VALUES (6, 1, 4, 33, 'serviceable', 1);
INSERT INTO public.holding VALUES (7, 2, NULL, 7, 'on hold', -4);
INSERT INTO public.holding VALUES (9, 2, 5, 34, 'serviceable', 1);
INSERT INTO public.holding VALUES (10, 2, 6, 34, 'serviceable', 1);
INSERT INTO public.holding VALUES (11, 2, 7, 35, 'serviceable', 1);
INSERT INTO public.holding VALUES (12, 2, 8, 35, 'serviceable', 1);
INSERT INTO public.holding VALUES (13, 3, NULL, 7, 'on hold', -40);
INSERT INTO public.holding VALUES (15, 4, NULL, 7, 'on hold', -40);
INSERT INTO public.holding VALUES (17, 5, NULL, 7, 'on hold', -10000);
INSERT INTO public.holding VALUES (14, 3, NULL, 18, 'serviceable', 24);
INSERT INTO public.holding VALUES (16, 4, NULL, 18, 'serviceable', 24);
INSERT INTO public.holding VALUES (23, 3, NULL, 36, 'serviceable', 16);
INSERT INTO public.holding VALUES (24, 4, NULL, 36, 'serviceable', 16);
INSERT INTO public.holding VALUES (25, 5, 9, 36, 'serviceable', 10000);
INSERT INTO public.hub_fixing VALUES (1, 1, 'hub', 3, 4, 4, 4, 5, 50, 'torque', 800, NULL, '', 'threadlocker', 'invented manual 5.2', NULL, NULL, NULL);
INSERT INTO public.job VALUES (1, 'J000001-8', 36, 1, 'rotor change', 'open', NULL, NULL, 20);
INSERT INTO public.job_position VALUES (1, 1, 1, 'to do');
INSERT INTO public.job_position VALUES (2, 1, 2, 'to do');
INSERT INTO public.job_position VALUES (3, 1, 3, 'to do');
INSERT INTO public.job_position VALUES (4, 1, 4, 'to do');
INSERT INTO public.kit VALUES (1, 'K000004-M', 37, 1, 1, NULL, NULL, 'full', 'opened', '0001', '2026-12-31', 3, 2, 21);
INSERT INTO public.kit_line VALUES (1, 1, 1, 'rotor set', 1, 'CW', 2, 'pieces', 0, 0);
INSERT INTO public.kit_line VALUES (2, 1, 2, 'rotor set', 2, 'CCW', 2, 'pieces', 0, 0);
INSERT INTO public.kit_line VALUES (3, 1, 3, 'screw', 3, NULL, 16, 'pieces', 4, 4);
INSERT INTO public.kit_line VALUES (4, 1, 4, 'washer', 4, NULL, 16, 'pieces', 4, 4);
INSERT INTO public.kit_line VALUES (5, 1, 5, 'threadlocker', 5, NULL, 800, 'volume_ul', 0, 0);
INSERT INTO public.kit_pick VALUES (1, 1, 1, 1, NULL, NULL, 1, NULL, 1, 21);
INSERT INTO public.kit_pick VALUES (2, 1, 1, 2, NULL, NULL, 1, NULL, 1, 21);
INSERT INTO public.kit_pick VALUES (3, 1, 2, 3, NULL, NULL, 1, NULL, 1, 21);
INSERT INTO public.kit_pick VALUES (4, 1, 2, 4, NULL, NULL, 1, NULL, 1, 21);
INSERT INTO public.kit_pick VALUES (5, 1, 3, NULL, 3, NULL, 4, 1, 1, 21);
INSERT INTO public.kit_pick VALUES (6, 1, 3, NULL, 3, NULL, 4, 2, 1, 21);
INSERT INTO public.kit_pick VALUES (7, 1, 3, NULL, 3, NULL, 4, 3, 1, 21);
INSERT INTO public.kit_pick VALUES (8, 1, 3, NULL, 3, NULL, 4, 4, 1, 21);
INSERT INTO public.kit_pick VALUES (9, 1, 4, NULL, 4, NULL, 4, 1, 1, 21);
INSERT INTO public.kit_pick VALUES (10, 1, 4, NULL, 4, NULL, 4, 2, 1, 21);
INSERT INTO public.kit_pick VALUES (11, 1, 4, NULL, 4, NULL, 4, 3, 1, 21);
INSERT INTO public.kit_pick VALUES (12, 1, 4, NULL, 4, NULL, 4, 4, 1, 21);
INSERT INTO public.kit_pick VALUES (13, 1, 5, NULL, 5, 9, 10000, NULL, 1, 21);
INSERT INTO public.kit_position VALUES (1, 1, 1, 'CCW');
INSERT INTO public.kit_position VALUES (2, 1, 2, 'CCW');
INSERT INTO public.kit_position VALUES (3, 1, 3, 'CW');
INSERT INTO public.kit_position VALUES (4, 1, 4, 'CW');
INSERT INTO public.lot VALUES (1, 'L000002-9', 1, 1, 1, 'BLADES-1-RB-18-CW');
INSERT INTO public.lot VALUES (2, 'L000003-7', 2, 1, 1, 'BLADES-1-RB-18-CCW');
INSERT INTO public.lot VALUES (3, 'L000004-5', 3, 1, 1, 'S-1');
INSERT INTO public.lot VALUES (4, 'L000005-3', 4, 1, 1, 'W-1');
INSERT INTO public.lot VALUES (5, 'L000006-1', 5, 1, 1, 'TL-1');
INSERT INTO public.match_reading VALUES (1, 1, 1, 1, 30000);
INSERT INTO public.match_reading VALUES (2, 1, 2, 2, 30000);
INSERT INTO public.match_reading VALUES (3, 2, 3, 1, 30000);
INSERT INTO public.match_reading VALUES (4, 2, 4, 2, 30000);
INSERT INTO public.match_reading VALUES (5, 3, 5, 1, 30000);
INSERT INTO public.match_reading VALUES (6, 3, 6, 2, 30000);
INSERT INTO public.match_reading VALUES (7, 4, 7, 1, 30000);
INSERT INTO public.match_reading VALUES (8, 4, 8, 2, 30000);
INSERT INTO public.match_record VALUES (1, 1, 'measured', 'bench', NULL, 5000, 'invented maker''s sheet 1', 1200, 800, '', 13);
INSERT INTO public.match_record VALUES (2, 2, 'measured', 'bench', NULL, 5000, 'invented maker''s sheet 1', 1200, 800, '', 13);
INSERT INTO public.match_record VALUES (3, 3, 'measured', 'bench', NULL, 5000, 'invented maker''s sheet 1', 1200, 800, '', 15);
INSERT INTO public.match_record VALUES (4, 4, 'measured', 'bench', NULL, 5000, 'invented maker''s sheet 1', 1200, 800, '', 15);
INSERT INTO public.movement VALUES (1, 11, NULL, 22, 1, NULL, '', NULL, 12, '', NULL);
INSERT INTO public.movement VALUES (2, 11, NULL, 23, 1, NULL, '', NULL, 22, '', NULL);
INSERT INTO public.movement VALUES (3, 11, NULL, 24, 1, NULL, '', NULL, 22, '', NULL);
INSERT INTO public.movement VALUES (4, 11, NULL, 25, 1, NULL, '', NULL, 22, '', NULL);
INSERT INTO public.movement VALUES (5, 11, NULL, 26, 1, NULL, '', NULL, 22, '', NULL);
INSERT INTO public.movement VALUES (6, 11, NULL, 27, 1, NULL, '', NULL, 12, '', NULL);
INSERT INTO public.movement VALUES (7, 11, NULL, 28, 1, NULL, '', NULL, 27, '', NULL);
INSERT INTO public.movement VALUES (8, 11, NULL, 29, 1, NULL, '', NULL, 27, '', NULL);
INSERT INTO public.movement VALUES (9, 11, NULL, 30, 1, NULL, '', NULL, 27, '', NULL);
INSERT INTO public.movement VALUES (10, 11, NULL, 31, 1, NULL, '', NULL, 27, '', NULL);
INSERT INTO public.movement VALUES (11, 12, 1, NULL, 4, 7, 'on hold', NULL, 18, 'serviceable', NULL);
INSERT INTO public.movement VALUES (12, 13, NULL, 32, 1, NULL, '', NULL, 18, '', NULL);
INSERT INTO public.movement VALUES (13, 13, 1, NULL, 1, 18, 'serviceable', NULL, 32, 'serviceable', 1);
INSERT INTO public.movement VALUES (14, 13, 1, NULL, 1, 18, 'serviceable', NULL, 32, 'serviceable', 2);
INSERT INTO public.movement VALUES (15, 13, NULL, 33, 1, NULL, '', NULL, 18, '', NULL);
INSERT INTO public.movement VALUES (16, 13, 1, NULL, 1, 18, 'serviceable', NULL, 33, 'serviceable', 3);
INSERT INTO public.movement VALUES (17, 13, 1, NULL, 1, 18, 'serviceable', NULL, 33, 'serviceable', 4);
INSERT INTO public.movement VALUES (18, 14, 2, NULL, 4, 7, 'on hold', NULL, 18, 'serviceable', NULL);
INSERT INTO public.movement VALUES (19, 15, NULL, 34, 1, NULL, '', NULL, 18, '', NULL);
INSERT INTO public.movement VALUES (20, 15, 2, NULL, 1, 18, 'serviceable', NULL, 34, 'serviceable', 5);
INSERT INTO public.movement VALUES (21, 15, 2, NULL, 1, 18, 'serviceable', NULL, 34, 'serviceable', 6);
INSERT INTO public.movement VALUES (22, 15, NULL, 35, 1, NULL, '', NULL, 18, '', NULL);
INSERT INTO public.movement VALUES (23, 15, 2, NULL, 1, 18, 'serviceable', NULL, 35, 'serviceable', 7);
INSERT INTO public.movement VALUES (24, 15, 2, NULL, 1, 18, 'serviceable', NULL, 35, 'serviceable', 8);
INSERT INTO public.movement VALUES (25, 16, 3, NULL, 40, 7, 'on hold', NULL, 18, 'serviceable', NULL);
INSERT INTO public.movement VALUES (26, 17, 4, NULL, 40, 7, 'on hold', NULL, 18, 'serviceable', NULL);
INSERT INTO public.movement VALUES (27, 18, 5, NULL, 10000, 7, 'on hold', NULL, 18, 'serviceable', NULL);
INSERT INTO public.movement VALUES (28, 19, 5, NULL, 10000, 18, 'serviceable', NULL, 18, 'serviceable', 9);
INSERT INTO public.movement VALUES (29, 21, NULL, 37, 1, NULL, '', NULL, 20, '', NULL);
INSERT INTO public.movement VALUES (30, 21, NULL, 32, 1, 18, '', NULL, 37, '', NULL);
INSERT INTO public.movement VALUES (31, 21, NULL, 33, 1, 18, '', NULL, 37, '', NULL);
INSERT INTO public.movement VALUES (32, 21, NULL, 34, 1, 18, '', NULL, 37, '', NULL);
INSERT INTO public.movement VALUES (33, 21, NULL, 35, 1, 18, '', NULL, 37, '', NULL);
INSERT INTO public.movement VALUES (34, 21, 3, NULL, 4, 18, 'serviceable', NULL, 37, 'serviceable', NULL);
INSERT INTO public.movement VALUES (35, 21, 3, NULL, 4, 18, 'serviceable', NULL, 37, 'serviceable', NULL);
INSERT INTO public.movement VALUES (36, 21, 3, NULL, 4, 18, 'serviceable', NULL, 37, 'serviceable', NULL);
INSERT INTO public.movement VALUES (37, 21, 3, NULL, 4, 18, 'serviceable', NULL, 37, 'serviceable', NULL);
INSERT INTO public.movement VALUES (38, 21, 4, NULL, 4, 18, 'serviceable', NULL, 37, 'serviceable', NULL);
INSERT INTO public.movement VALUES (39, 21, 4, NULL, 4, 18, 'serviceable', NULL, 37, 'serviceable', NULL);
INSERT INTO public.movement VALUES (40, 21, 4, NULL, 4, 18, 'serviceable', NULL, 37, 'serviceable', NULL);
INSERT INTO public.movement VALUES (41, 21, 4, NULL, 4, 18, 'serviceable', NULL, 37, 'serviceable', NULL);
INSERT INTO public.movement VALUES (42, 21, 5, NULL, 10000, 18, 'serviceable', 9, 37, 'serviceable', 9);
INSERT INTO public.movement VALUES (43, 24, NULL, 37, 1, 20, '', NULL, 19, '', NULL);
INSERT INTO public.movement VALUES (44, 25, NULL, 37, 1, 19, '', NULL, 15, '', NULL);
INSERT INTO public.movement VALUES (45, 26, NULL, 32, 1, 37, '', NULL, 36, '', NULL);
INSERT INTO public.movement VALUES (46, 26, NULL, 33, 1, 37, '', NULL, 36, '', NULL);
INSERT INTO public.movement VALUES (47, 26, NULL, 34, 1, 37, '', NULL, 36, '', NULL);
INSERT INTO public.movement VALUES (48, 26, NULL, 35, 1, 37, '', NULL, 36, '', NULL);
INSERT INTO public.movement VALUES (49, 26, 3, NULL, 16, 37, 'serviceable', NULL, 36, 'serviceable', NULL);
INSERT INTO public.movement VALUES (50, 26, 4, NULL, 16, 37, 'serviceable', NULL, 36, 'serviceable', NULL);
INSERT INTO public.movement VALUES (51, 26, 5, NULL, 10000, 37, 'serviceable', 9, 36, 'serviceable', 9);
INSERT INTO public.paper VALUES (1, 1, 'certificate of conformity', 'C-1', 'Invented Rotors', 12);
INSERT INTO public.paper VALUES (2, 2, 'certificate of conformity', 'C-1', 'Invented Rotors', 14);
INSERT INTO public.paper VALUES (3, 3, 'certificate of conformity', 'C-1', 'Invented Rotors', 16);
INSERT INTO public.paper VALUES (4, 4, 'certificate of conformity', 'C-1', 'Invented Rotors', 17);
INSERT INTO public.paper VALUES (5, 5, 'certificate of conformity', 'C-1', 'Invented Rotors', 18);
INSERT INTO public.paper_kind VALUES (1, 'rotor', 'certificate of conformity', 1);
INSERT INTO public.paper_kind VALUES (2, 'standard part', 'certificate of conformity', 1);
INSERT INTO public.paper_kind VALUES (3, 'material', 'certificate of conformity', 1);
INSERT INTO public.part VALUES (1, 'RB-18-CW', 1, 'rotor blade 18 in CW', 'blade', 'serial', 'pieces', 'rotor', 1, 1, 1, 'CW', NULL, 2, NULL, 0, 5000, 'invented maker''s sheet 1', 1, 'invented maker''s sheet 1', 0, 0, '', NULL, '', '', '', 0, 0, 0, NULL, NULL, 18000, NULL, NULL, NULL, '', '');
INSERT INTO public.part VALUES (2, 'RB-18-CCW', 1, 'rotor blade 18 in CCW', 'blade', 'serial', 'pieces', 'rotor', 1, 1, 1, 'CCW', NULL, 2, NULL, 0, 5000, 'invented maker''s sheet 1', 1, 'invented maker''s sheet 1', 0, 0, '', NULL, '', '', '', 0, 0, 0, NULL, NULL, 18000, NULL, NULL, NULL, '', '');
INSERT INTO public.part VALUES (3, 'SC-M3x8', 1, 'screw M3 x 8', 'fastener', 'lot', 'pieces', 'standard part', 1, 0, 8, NULL, NULL, NULL, NULL, 0, NULL, '', 0, '', 0, 0, 'M3', 8000, 'socket head', 'hex', 'A2-70', 1, 0, 0, NULL, NULL, NULL, NULL, NULL, NULL, '', '');
INSERT INTO public.part VALUES (4, 'WA-M3', 1, 'washer M3', 'fastener', 'lot', 'pieces', 'standard part', 1, 0, 1, NULL, NULL, NULL, NULL, 0, NULL, '', 0, '', 0, 0, '', NULL, '', '', '', 1, 0, 0, NULL, NULL, NULL, NULL, NULL, NULL, '', '');
INSERT INTO public.part VALUES (5, 'TL-10', 1, 'threadlocker, medium', 'consumable', 'lot', 'volume_ul', 'material', 1, 0, 10000, NULL, NULL, NULL, NULL, 0, NULL, '', 0, '', 0, 0, '', NULL, '', '', '', 0, 0, 1, 730, 365, NULL, NULL, NULL, NULL, '', '');
INSERT INTO public.part_mark VALUES (1, 1, 1, 'R', 'CW');
INSERT INTO public.part_mark VALUES (2, 1, 1, 'CW', 'CW');
INSERT INTO public.part_mark VALUES (3, 2, 1, 'L', 'CCW');
INSERT INTO public.part_mark VALUES (4, 2, 1, 'CCW', 'CCW');
INSERT INTO public.person VALUES (1, 'P000001-H', 'Manager One', 1, 0, NULL, 1);
INSERT INTO public.person VALUES (2, 'P000002-F', 'Clerk One', 1, 0, NULL, 2);
INSERT INTO public.person VALUES (3, 'P000003-D', 'Clerk Two', 1, 0, NULL, 3);
INSERT INTO public.person VALUES (4, 'P000005-9', 'Technician One', 1, 0, NULL, 4);
INSERT INTO public.person VALUES (5, 'P000006-7', 'Inspector One', 1, 0, NULL, 5);
INSERT INTO public.person VALUES (6, 'P000007-5', 'Auditor One', 1, 0, NULL, 6);
INSERT INTO public.person_role VALUES (1, 1, 'manager', 1);
INSERT INTO public.person_role VALUES (2, 2, 'clerk', 1);
INSERT INTO public.person_role VALUES (3, 3, 'clerk', 1);
INSERT INTO public.person_role VALUES (4, 4, 'technician', 1);
INSERT INTO public.person_role VALUES (5, 5, 'inspector', 1);
INSERT INTO public.person_role VALUES (6, 5, 'technician', 1);
INSERT INTO public.person_role VALUES (7, 6, 'auditor', 1);
INSERT INTO public.piece VALUES (1, 'U000001-6', 1, 1, 1, NULL, '', '', 'CW', NULL, NULL, NULL, NULL, NULL, '', 13);
INSERT INTO public.piece VALUES (2, 'U000002-4', 1, 1, 1, NULL, '', '', 'CW', NULL, NULL, NULL, NULL, NULL, '', 13);
INSERT INTO public.piece VALUES (3, 'U000003-2', 1, 1, 1, NULL, '', '', 'CW', NULL, NULL, NULL, NULL, NULL, '', 13);
INSERT INTO public.piece VALUES (4, 'U000005-X', 1, 1, 1, NULL, '', '', 'CW', NULL, NULL, NULL, NULL, NULL, '', 13);
INSERT INTO public.piece VALUES (5, 'U000006-V', 2, 2, 1, NULL, '', '', 'CCW', NULL, NULL, NULL, NULL, NULL, '', 15);
INSERT INTO public.piece VALUES (6, 'U000007-T', 2, 2, 1, NULL, '', '', 'CCW', NULL, NULL, NULL, NULL, NULL, '', 15);
INSERT INTO public.piece VALUES (7, 'U000008-R', 2, 2, 1, NULL, '', '', 'CCW', NULL, NULL, NULL, NULL, NULL, '', 15);
INSERT INTO public.piece VALUES (8, 'U000009-P', 2, 2, 1, NULL, '', '', 'CCW', NULL, NULL, NULL, NULL, NULL, '', 15);
INSERT INTO public.piece VALUES (9, 'U000010-4', 5, 5, 1, NULL, '', '', NULL, NULL, NULL, NULL, NULL, NULL, '', 19);
INSERT INTO public.place VALUES (1, 'P000001-H', 'hands', 'Manager One', NULL, 1, 0, 1);
INSERT INTO public.place VALUES (2, '*consumed', 'consumed', 'consumed', NULL, NULL, 0, 1);
INSERT INTO public.place VALUES (3, '*lost', 'lost', 'lost', NULL, NULL, 0, 1);
INSERT INTO public.place VALUES (4, '*returned to supplier', 'returned to supplier', 'returned to supplier', NULL, NULL, 0, 1);
INSERT INTO public.place VALUES (5, '*scrapped', 'scrapped', 'scrapped', NULL, NULL, 0, 1);
INSERT INTO public.place VALUES (6, '*sold', 'sold', 'sold', NULL, NULL, 0, 1);
INSERT INTO public.place VALUES (7, '*supplier', 'supplier', 'supplier', NULL, NULL, 0, 1);
INSERT INTO public.place VALUES (8, '*unaccounted', 'unaccounted', 'unaccounted', NULL, NULL, 0, 1);
INSERT INTO public.place VALUES (9, 'N000001-E', 'goods-in', 'goods-in Home', 1, NULL, 0, 1);
INSERT INTO public.place VALUES (10, 'N000002-C', 'hold cage', 'hold cage Home', 1, NULL, 0, 1);
INSERT INTO public.place VALUES (11, 'N000003-A', 'removed-parts cage', 'removed-parts cage Home', 1, NULL, 0, 1);
INSERT INTO public.place VALUES (12, 'N000004-8', 'apron', 'apron Home', 1, NULL, 0, 1);
INSERT INTO public.place VALUES (13, 'P000002-F', 'hands', 'Clerk One', NULL, 2, 0, 1);
INSERT INTO public.place VALUES (14, 'P000003-D', 'hands', 'Clerk Two', NULL, 3, 0, 1);
INSERT INTO public.place VALUES (15, 'P000005-9', 'hands', 'Technician One', NULL, 4, 0, 1);
INSERT INTO public.place VALUES (16, 'P000006-7', 'hands', 'Inspector One', NULL, 5, 0, 1);
INSERT INTO public.place VALUES (17, 'P000007-5', 'hands', 'Auditor One', NULL, 6, 0, 1);
INSERT INTO public.place VALUES (18, 'N000005-6', 'bin', 'A-01', 1, NULL, 0, 1);
INSERT INTO public.place VALUES (19, 'N000006-4', 'bin', 'A-02', 1, NULL, 0, 1);
INSERT INTO public.place VALUES (20, 'N000007-2', 'bench', 'Bench 1', 1, NULL, 0, 1);
INSERT INTO public.place VALUES (21, 'N000009-X', 'van', 'Van 1', 1, NULL, 0, 1);
INSERT INTO public.place VALUES (22, 'A000001-D', 'airframe', 'QA-01', NULL, NULL, 0, 1);
INSERT INTO public.place VALUES (23, 'X000001-T', 'position', 'QA-01 FR', NULL, NULL, 0, 1);
INSERT INTO public.place VALUES (24, 'X000002-R', 'position', 'QA-01 RL', NULL, NULL, 0, 1);
INSERT INTO public.place VALUES (25, 'X000003-P', 'position', 'QA-01 FL', NULL, NULL, 0, 1);
INSERT INTO public.place VALUES (26, 'X000004-N', 'position', 'QA-01 RR', NULL, NULL, 0, 1);
INSERT INTO public.place VALUES (27, 'A000003-9', 'airframe', 'QA-02', NULL, NULL, 0, 1);
INSERT INTO public.place VALUES (28, 'X000005-L', 'position', 'QA-02 FR', NULL, NULL, 0, 1);
INSERT INTO public.place VALUES (29, 'X000006-J', 'position', 'QA-02 RL', NULL, NULL, 0, 1);
INSERT INTO public.place VALUES (30, 'X000007-H', 'position', 'QA-02 FL', NULL, NULL, 0, 1);
INSERT INTO public.place VALUES (31, 'X000008-F', 'position', 'QA-02 RR', NULL, NULL, 0, 1);
INSERT INTO public.place VALUES (32, 'R000001-K', 'rotor set', 'R000001-K', NULL, NULL, 1, 1);
INSERT INTO public.place VALUES (33, 'R000003-G', 'rotor set', 'R000003-G', NULL, NULL, 1, 1);
INSERT INTO public.place VALUES (34, 'R000004-E', 'rotor set', 'R000004-E', NULL, NULL, 1, 1);
INSERT INTO public.place VALUES (35, 'R000005-C', 'rotor set', 'R000005-C', NULL, NULL, 1, 1);
INSERT INTO public.place VALUES (36, 'J000001-8', 'job', 'J000001-8', NULL, NULL, 0, 1);
INSERT INTO public.place VALUES (37, 'K000004-M', 'kit', 'K000004-M', NULL, NULL, 0, 0);
INSERT INTO public."position" VALUES (1, 'X000001-T', 1, 1, 23, 'FR', 1);
INSERT INTO public."position" VALUES (2, 'X000002-R', 1, 2, 24, 'RL', 1);
INSERT INTO public."position" VALUES (3, 'X000003-P', 1, 3, 25, 'FL', 1);
INSERT INTO public."position" VALUES (4, 'X000004-N', 1, 4, 26, 'RR', 1);
INSERT INTO public."position" VALUES (5, 'X000005-L', 2, 1, 28, 'FR', 1);
INSERT INTO public."position" VALUES (6, 'X000006-J', 2, 2, 29, 'RL', 1);
INSERT INTO public."position" VALUES (7, 'X000007-H', 2, 3, 30, 'FL', 1);
INSERT INTO public."position" VALUES (8, 'X000008-F', 2, 4, 31, 'RR', 1);
INSERT INTO public.position_group VALUES (1, 1, 'front', 1);
INSERT INTO public.position_group VALUES (2, 1, 'rear', 2);
INSERT INTO public.position_group VALUES (3, 1, 'front', 3);
INSERT INTO public.position_group VALUES (4, 1, 'rear', 4);
INSERT INTO public.receipt_line VALUES (1, 'Y000001-C', 1, 1, 1, 4, 'pieces', 'none', NULL, NULL, 1, '', 12);
INSERT INTO public.receipt_line VALUES (2, 'Y000002-A', 2, 2, 2, 4, 'pieces', 'none', NULL, NULL, 1, '', 14);
INSERT INTO public.receipt_line VALUES (3, 'Y000003-8', 3, 3, 3, 40, 'pieces', 'none', NULL, NULL, 1, '', 16);
INSERT INTO public.receipt_line VALUES (4, 'Y000004-6', 4, 4, 4, 40, 'pieces', 'none', NULL, NULL, 1, '', 17);
INSERT INTO public.receipt_line VALUES (5, 'Y000005-4', 5, 5, 5, 10000, 'volume_ul', 'date', '2026-12-31', NULL, 1, '', 18);
INSERT INTO public.rotor_set VALUES (1, 'R000001-K', 32, 1, 'CW', 'complete', 'serviceable', 1, 0, 0, NULL, 1, NULL, 0, 13);
INSERT INTO public.rotor_set VALUES (2, 'R000003-G', 33, 1, 'CW', 'complete', 'serviceable', 2, 0, 0, NULL, 1, NULL, 0, 13);
INSERT INTO public.rotor_set VALUES (3, 'R000004-E', 34, 2, 'CCW', 'complete', 'serviceable', 3, 0, 0, NULL, 1, NULL, 0, 15);
INSERT INTO public.rotor_set VALUES (4, 'R000005-C', 35, 2, 'CCW', 'complete', 'serviceable', 4, 0, 0, NULL, 1, NULL, 0, 15);
INSERT INTO public.sense_map VALUES (1, 1, 1, 'layout of the type revision', 11, NULL, 11);
INSERT INTO public.sense_map VALUES (2, 2, 1, 'layout of the type revision', 11, NULL, 11);
INSERT INTO public.sense_map_line VALUES (1, 1, 1, 'CCW');
INSERT INTO public.sense_map_line VALUES (2, 1, 2, 'CCW');
INSERT INTO public.sense_map_line VALUES (3, 1, 3, 'CW');
INSERT INTO public.sense_map_line VALUES (4, 1, 4, 'CW');
INSERT INTO public.sense_map_line VALUES (5, 2, 5, 'CCW');
INSERT INTO public.sense_map_line VALUES (6, 2, 6, 'CCW');
INSERT INTO public.sense_map_line VALUES (7, 2, 7, 'CW');
INSERT INTO public.sense_map_line VALUES (8, 2, 8, 'CW');
INSERT INTO public.site VALUES (1, 'Home', 'Europe/Oslo');
INSERT INTO public.store_stamp VALUES (1, 'kittrack', 1, 0, 0);
INSERT INTO public.tool VALUES (1, 'W000001-9', 'Torque driver 1', 'torque', 500, 5000, NULL, NULL, NULL, NULL, '2027-01-31', 1);
INSERT INTO public.tool VALUES (2, 'W000002-7', 'Scale 1', 'scale', NULL, NULL, 1000, 2000, 1000, 500, '2027-01-31', 1);
INSERT INTO public.type_position VALUES (1, 1, 1, 'FR', '1', 'FR', 'single', 'tractor', 'CCW', 45000, 300000, 1);
INSERT INTO public.type_position VALUES (2, 1, 2, 'RL', '2', 'RL', 'single', 'tractor', 'CCW', -135000, 300000, 1);
INSERT INTO public.type_position VALUES (3, 1, 3, 'FL', '3', 'FL', 'single', 'tractor', 'CW', -45000, 300000, 1);
INSERT INTO public.type_position VALUES (4, 1, 4, 'RR', '4', 'RR', 'single', 'tractor', 'CW', 135000, 300000, 1);
INSERT INTO public.type_revision VALUES (1, 1, 'A', 1, 600, 'invented');
INSERT INTO public.usage_reading VALUES (1, 1, 0, 0, 'new', 11);
INSERT INTO public.usage_reading VALUES (2, 2, 0, 0, 'new', 11);
INSERT INTO public.voucher VALUES (1, 'V000003-M', 1, 1, 1, 2, 4, 'open', 25);
SELECT pg_catalog.setval('public.holding_ids', 25, true);
ALTER TABLE ONLY public.acknowledgement
    ADD CONSTRAINT acknowledgement_pkey PRIMARY KEY (id);
ALTER TABLE ONLY public.airframe
    ADD CONSTRAINT airframe_pkey PRIMARY KEY (id);
ALTER TABLE ONLY public.airframe_type
    ADD CONSTRAINT airframe_type_pkey PRIMARY KEY (id);
ALTER TABLE ONLY public.alone_declaration
    ADD CONSTRAINT alone_declaration_pkey PRIMARY KEY (id);
ALTER TABLE ONLY public.approved_part
    ADD CONSTRAINT approved_part_pkey PRIMARY KEY (id);
ALTER TABLE ONLY public.company
    ADD CONSTRAINT company_pkey PRIMARY KEY (id);
ALTER TABLE ONLY public.containment
    ADD CONSTRAINT containment_pkey PRIMARY KEY (id);
ALTER TABLE ONLY public.count_line
    ADD CONSTRAINT count_line_pkey PRIMARY KEY (id);
ALTER TABLE ONLY public.credential
    ADD CONSTRAINT credential_pkey PRIMARY KEY (id);
ALTER TABLE ONLY public.delivery
    ADD CONSTRAINT delivery_pkey PRIMARY KEY (id);
ALTER TABLE ONLY public.event
    ADD CONSTRAINT event_pkey PRIMARY KEY (id);
ALTER TABLE ONLY public.finding
    ADD CONSTRAINT finding_pkey PRIMARY KEY (id);
ALTER TABLE ONLY public.fit_record
    ADD CONSTRAINT fit_record_pkey PRIMARY KEY (id);
ALTER TABLE ONLY public.hold_item
    ADD CONSTRAINT hold_item_pkey PRIMARY KEY (id);
ALTER TABLE ONLY public.hold
    ADD CONSTRAINT hold_pkey PRIMARY KEY (id);
ALTER TABLE ONLY public.holding
    ADD CONSTRAINT holding_pkey PRIMARY KEY (id);
ALTER TABLE ONLY public.hub_fixing
    ADD CONSTRAINT hub_fixing_pkey PRIMARY KEY (id);
ALTER TABLE ONLY public.inspection
    ADD CONSTRAINT inspection_pkey PRIMARY KEY (id);
ALTER TABLE ONLY public.job
    ADD CONSTRAINT job_pkey PRIMARY KEY (id);
ALTER TABLE ONLY public.job_position
    ADD CONSTRAINT job_position_pkey PRIMARY KEY (id);
ALTER TABLE ONLY public.kit_line
    ADD CONSTRAINT kit_line_pkey PRIMARY KEY (id);
ALTER TABLE ONLY public.kit_list_line
    ADD CONSTRAINT kit_list_line_pkey PRIMARY KEY (id);
ALTER TABLE ONLY public.kit_pick
    ADD CONSTRAINT kit_pick_pkey PRIMARY KEY (id);
ALTER TABLE ONLY public.kit
    ADD CONSTRAINT kit_pkey PRIMARY KEY (id);
ALTER TABLE ONLY public.kit_position
    ADD CONSTRAINT kit_position_pkey PRIMARY KEY (id);
ALTER TABLE ONLY public.label_print
    ADD CONSTRAINT label_print_pkey PRIMARY KEY (id);
ALTER TABLE ONLY public.label_void
    ADD CONSTRAINT label_void_pkey PRIMARY KEY (id);
ALTER TABLE ONLY public.lot
    ADD CONSTRAINT lot_pkey PRIMARY KEY (id);
ALTER TABLE ONLY public.match_reading
    ADD CONSTRAINT match_reading_pkey PRIMARY KEY (id);
ALTER TABLE ONLY public.match_record
    ADD CONSTRAINT match_record_pkey PRIMARY KEY (id);
ALTER TABLE ONLY public.movement
    ADD CONSTRAINT movement_pkey PRIMARY KEY (id);
ALTER TABLE ONLY public.occurrence
    ADD CONSTRAINT occurrence_pkey PRIMARY KEY (id);
ALTER TABLE ONLY public.override
    ADD CONSTRAINT override_pkey PRIMARY KEY (id);
ALTER TABLE ONLY public.paper_kind
    ADD CONSTRAINT paper_kind_pkey PRIMARY KEY (id);
ALTER TABLE ONLY public.paper
    ADD CONSTRAINT paper_pkey PRIMARY KEY (id);
ALTER TABLE ONLY public.part_mark
    ADD CONSTRAINT part_mark_pkey PRIMARY KEY (id);
ALTER TABLE ONLY public.part
    ADD CONSTRAINT part_pkey PRIMARY KEY (id);
ALTER TABLE ONLY public.person
    ADD CONSTRAINT person_pkey PRIMARY KEY (id);
ALTER TABLE ONLY public.person_role
    ADD CONSTRAINT person_role_pkey PRIMARY KEY (id);
ALTER TABLE ONLY public.piece
    ADD CONSTRAINT piece_pkey PRIMARY KEY (id);
ALTER TABLE ONLY public.place
    ADD CONSTRAINT place_pkey PRIMARY KEY (id);
ALTER TABLE ONLY public.position_group
    ADD CONSTRAINT position_group_pkey PRIMARY KEY (id);
ALTER TABLE ONLY public."position"
    ADD CONSTRAINT position_pkey PRIMARY KEY (id);
ALTER TABLE ONLY public.receipt_line
    ADD CONSTRAINT receipt_line_pkey PRIMARY KEY (id);
ALTER TABLE ONLY public.removal
    ADD CONSTRAINT removal_pkey PRIMARY KEY (id);
ALTER TABLE ONLY public.reservation
    ADD CONSTRAINT reservation_pkey PRIMARY KEY (id);
ALTER TABLE ONLY public.rotor_set
    ADD CONSTRAINT rotor_set_pkey PRIMARY KEY (id);
ALTER TABLE ONLY public.sense_map_line
    ADD CONSTRAINT sense_map_line_pkey PRIMARY KEY (id);
ALTER TABLE ONLY public.sense_map
    ADD CONSTRAINT sense_map_pkey PRIMARY KEY (id);
ALTER TABLE ONLY public.setting_change
    ADD CONSTRAINT setting_change_pkey PRIMARY KEY (id);
ALTER TABLE ONLY public.site
    ADD CONSTRAINT site_pkey PRIMARY KEY (id);
ALTER TABLE ONLY public.stock_count
    ADD CONSTRAINT stock_count_pkey PRIMARY KEY (id);
ALTER TABLE ONLY public.store_stamp
    ADD CONSTRAINT store_stamp_pkey PRIMARY KEY (id);
ALTER TABLE ONLY public.tool
    ADD CONSTRAINT tool_pkey PRIMARY KEY (id);
ALTER TABLE ONLY public.torque_record
    ADD CONSTRAINT torque_record_pkey PRIMARY KEY (id);
ALTER TABLE ONLY public.type_position
    ADD CONSTRAINT type_position_pkey PRIMARY KEY (id);
ALTER TABLE ONLY public.type_revision
    ADD CONSTRAINT type_revision_pkey PRIMARY KEY (id);
ALTER TABLE ONLY public.usage_reading
    ADD CONSTRAINT usage_reading_pkey PRIMARY KEY (id);
ALTER TABLE ONLY public.voucher
    ADD CONSTRAINT voucher_pkey PRIMARY KEY (id);
CREATE UNIQUE INDEX acknowledgement_one_person_id_what ON public.acknowledgement USING btree (person_id, what);
CREATE UNIQUE INDEX airframe_one_code ON public.airframe USING btree (code);
CREATE UNIQUE INDEX airframe_one_tail ON public.airframe USING btree (tail);
CREATE UNIQUE INDEX airframe_type_one_name ON public.airframe_type USING btree (name);
CREATE UNIQUE INDEX approved_part_one_type_position_id_part_id ON public.approved_part USING btree (type_position_id, part_id);
CREATE UNIQUE INDEX company_one_name ON public.company USING btree (name);
CREATE INDEX containment_by_inside_id ON public.containment USING btree (inside_id);
CREATE UNIQUE INDEX containment_one_container_id ON public.containment USING btree (container_id);
CREATE INDEX count_line_by_stock_count_id ON public.count_line USING btree (stock_count_id);
CREATE UNIQUE INDEX credential_one_person_id ON public.credential USING btree (person_id);
CREATE UNIQUE INDEX delivery_one_code ON public.delivery USING btree (code);
CREATE INDEX event_by_at ON public.event USING btree (at);
CREATE UNIQUE INDEX event_one_key ON public.event USING btree (key);
CREATE INDEX finding_by_airframe_id ON public.finding USING btree (airframe_id);
CREATE INDEX finding_by_job_id ON public.finding USING btree (job_id);
CREATE INDEX fit_record_by_job_id ON public.fit_record USING btree (job_id);
CREATE INDEX fit_record_by_locker_line_id ON public.fit_record USING btree (locker_line_id);
CREATE INDEX fit_record_by_position_id ON public.fit_record USING btree (position_id);
CREATE INDEX fit_record_by_rotor_set_id ON public.fit_record USING btree (rotor_set_id);
CREATE INDEX fit_record_by_screw_line_id ON public.fit_record USING btree (screw_line_id);
CREATE INDEX fit_record_by_washer_line_id ON public.fit_record USING btree (washer_line_id);
CREATE INDEX hold_item_by_hold_id ON public.hold_item USING btree (hold_id);
CREATE INDEX hold_item_by_kit_id ON public.hold_item USING btree (kit_id);
CREATE INDEX hold_item_by_piece_id ON public.hold_item USING btree (piece_id);
CREATE INDEX hold_item_by_receipt_line_id_released_event_id ON public.hold_item USING btree (receipt_line_id, released_event_id);
CREATE INDEX hold_item_by_rotor_set_id ON public.hold_item USING btree (rotor_set_id);
CREATE UNIQUE INDEX hold_one_code ON public.hold USING btree (code);
CREATE INDEX holding_by_place_id ON public.holding USING btree (place_id);
CREATE INDEX holding_by_receipt_line_id_place_id ON public.holding USING btree (receipt_line_id, place_id);
CREATE UNIQUE INDEX holding_one_piece_id ON public.holding USING btree (piece_id) WHERE (piece_id IS NOT NULL);
CREATE UNIQUE INDEX holding_one_receipt_line_id_place_id_condition ON public.holding USING btree (receipt_line_id, place_id, condition) WHERE (piece_id IS NULL);
CREATE UNIQUE INDEX hub_fixing_one_type_revision_id_name ON public.hub_fixing USING btree (type_revision_id, name);
CREATE INDEX inspection_by_piece_id ON public.inspection USING btree (piece_id);
CREATE INDEX inspection_by_receipt_line_id ON public.inspection USING btree (receipt_line_id);
CREATE INDEX inspection_by_rotor_set_id ON public.inspection USING btree (rotor_set_id);
CREATE INDEX job_by_airframe_id_state ON public.job USING btree (airframe_id, state);
CREATE INDEX job_by_state ON public.job USING btree (state);
CREATE UNIQUE INDEX job_one_code ON public.job USING btree (code);
CREATE INDEX job_position_by_position_id ON public.job_position USING btree (position_id);
CREATE UNIQUE INDEX job_position_one_job_id_position_id ON public.job_position USING btree (job_id, position_id);
CREATE INDEX kit_by_state ON public.kit USING btree (state);
CREATE UNIQUE INDEX kit_line_one_kit_id_rank ON public.kit_line USING btree (kit_id, rank);
CREATE UNIQUE INDEX kit_list_line_one_type_revision_id_part_id_per ON public.kit_list_line USING btree (type_revision_id, part_id, per);
CREATE UNIQUE INDEX kit_one_code ON public.kit USING btree (code);
CREATE UNIQUE INDEX kit_one_seal ON public.kit USING btree (seal) WHERE (seal IS NOT NULL);
CREATE INDEX kit_pick_by_kit_id ON public.kit_pick USING btree (kit_id);
CREATE INDEX kit_pick_by_piece_id ON public.kit_pick USING btree (piece_id);
CREATE INDEX kit_pick_by_receipt_line_id ON public.kit_pick USING btree (receipt_line_id);
CREATE INDEX kit_pick_by_rotor_set_id ON public.kit_pick USING btree (rotor_set_id);
CREATE UNIQUE INDEX kit_position_one_kit_id_type_position_id ON public.kit_position USING btree (kit_id, type_position_id);
CREATE INDEX label_print_by_subject ON public.label_print USING btree (subject);
CREATE UNIQUE INDEX label_void_one_label_print_id ON public.label_void USING btree (label_print_id);
CREATE INDEX lot_by_lot_code ON public.lot USING btree (lot_code);
CREATE INDEX lot_by_part_id ON public.lot USING btree (part_id);
CREATE UNIQUE INDEX lot_one_code ON public.lot USING btree (code);
CREATE UNIQUE INDEX lot_one_part_id_maker_id_supplier_id_lot_code ON public.lot USING btree (part_id, maker_id, supplier_id, lot_code) WHERE (lot_code IS NOT NULL);
CREATE INDEX match_reading_by_piece_id ON public.match_reading USING btree (piece_id);
CREATE UNIQUE INDEX match_reading_one_match_record_id_slot ON public.match_reading USING btree (match_record_id, slot);
CREATE INDEX match_record_by_rotor_set_id ON public.match_record USING btree (rotor_set_id);
CREATE INDEX match_record_by_tool_id ON public.match_record USING btree (tool_id);
CREATE INDEX movement_by_container_id ON public.movement USING btree (container_id);
CREATE INDEX movement_by_event_id ON public.movement USING btree (event_id);
CREATE INDEX movement_by_receipt_line_id ON public.movement USING btree (receipt_line_id);
CREATE INDEX movement_by_to_piece_id ON public.movement USING btree (to_piece_id);
CREATE INDEX movement_by_to_place_id ON public.movement USING btree (to_place_id);
CREATE INDEX paper_by_receipt_line_id ON public.paper USING btree (receipt_line_id);
CREATE UNIQUE INDEX paper_kind_one_paper_class_kind ON public.paper_kind USING btree (paper_class, kind);
CREATE INDEX part_by_number ON public.part USING btree (number);
CREATE UNIQUE INDEX part_mark_one_part_id_revision_mark ON public.part_mark USING btree (part_id, revision, mark);
CREATE UNIQUE INDEX part_one_maker_id_number ON public.part USING btree (maker_id, number);
CREATE UNIQUE INDEX person_one_code ON public.person USING btree (code);
CREATE UNIQUE INDEX person_one_name ON public.person USING btree (name);
CREATE UNIQUE INDEX person_role_one_person_id_role ON public.person_role USING btree (person_id, role);
CREATE INDEX piece_by_receipt_line_id ON public.piece USING btree (receipt_line_id);
CREATE INDEX piece_by_serial ON public.piece USING btree (serial);
CREATE UNIQUE INDEX piece_one_code ON public.piece USING btree (code);
CREATE UNIQUE INDEX piece_one_maker_id_part_id_serial ON public.piece USING btree (maker_id, part_id, serial) WHERE (serial IS NOT NULL);
CREATE INDEX place_by_name ON public.place USING btree (name);
CREATE UNIQUE INDEX place_one_code ON public.place USING btree (code);
CREATE UNIQUE INDEX place_one_kind_name ON public.place USING btree (kind, name);
CREATE UNIQUE INDEX position_group_one_type_revision_id_name_type_position_id ON public.position_group USING btree (type_revision_id, name, type_position_id);
CREATE UNIQUE INDEX position_one_airframe_id_name ON public."position" USING btree (airframe_id, name);
CREATE UNIQUE INDEX position_one_code ON public."position" USING btree (code);
CREATE INDEX receipt_line_by_lot_id ON public.receipt_line USING btree (lot_id);
CREATE INDEX receipt_line_by_part_id ON public.receipt_line USING btree (part_id);
CREATE UNIQUE INDEX receipt_line_one_code ON public.receipt_line USING btree (code);
CREATE INDEX removal_by_position_id ON public.removal USING btree (position_id);
CREATE INDEX removal_by_rotor_set_id_position_id ON public.removal USING btree (rotor_set_id, position_id);
CREATE UNIQUE INDEX removal_one_code ON public.removal USING btree (code);
CREATE INDEX reservation_by_job_id ON public.reservation USING btree (job_id);
CREATE INDEX reservation_by_kit_id ON public.reservation USING btree (kit_id);
CREATE INDEX reservation_by_rotor_set_id ON public.reservation USING btree (rotor_set_id);
CREATE INDEX rotor_set_by_part_id ON public.rotor_set USING btree (part_id);
CREATE INDEX rotor_set_by_place_id ON public.rotor_set USING btree (place_id);
CREATE UNIQUE INDEX rotor_set_one_code ON public.rotor_set USING btree (code);
CREATE UNIQUE INDEX sense_map_line_one_sense_map_id_position_id ON public.sense_map_line USING btree (sense_map_id, position_id);
CREATE UNIQUE INDEX sense_map_one_airframe_id_revision ON public.sense_map USING btree (airframe_id, revision);
CREATE UNIQUE INDEX site_one_name ON public.site USING btree (name);
CREATE UNIQUE INDEX stock_count_one_code ON public.stock_count USING btree (code);
CREATE UNIQUE INDEX tool_one_code ON public.tool USING btree (code);
CREATE UNIQUE INDEX tool_one_name ON public.tool USING btree (name);
CREATE INDEX torque_record_by_position_id ON public.torque_record USING btree (position_id);
CREATE UNIQUE INDEX type_position_one_type_revision_id_name ON public.type_position USING btree (type_revision_id, name);
CREATE UNIQUE INDEX type_revision_one_airframe_type_id_name ON public.type_revision USING btree (airframe_type_id, name);
CREATE INDEX usage_reading_by_airframe_id ON public.usage_reading USING btree (airframe_id);
CREATE INDEX voucher_by_job_id ON public.voucher USING btree (job_id);
CREATE INDEX voucher_by_kit_id ON public.voucher USING btree (kit_id);
CREATE UNIQUE INDEX voucher_one_code ON public.voucher USING btree (code);
CREATE UNIQUE INDEX voucher_one_kit_id ON public.voucher USING btree (kit_id) WHERE (state = 'open'::text);
CREATE TRIGGER acknowledgement_never_changed BEFORE UPDATE ON public.acknowledgement FOR EACH ROW EXECUTE FUNCTION public.never_changed();
CREATE TRIGGER acknowledgement_never_deleted BEFORE DELETE ON public.acknowledgement FOR EACH ROW EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER acknowledgement_never_emptied BEFORE TRUNCATE ON public.acknowledgement FOR EACH STATEMENT EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER airframe_never_deleted BEFORE DELETE ON public.airframe FOR EACH ROW EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER airframe_never_emptied BEFORE TRUNCATE ON public.airframe FOR EACH STATEMENT EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER airframe_type_never_deleted BEFORE DELETE ON public.airframe_type FOR EACH ROW EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER airframe_type_never_emptied BEFORE TRUNCATE ON public.airframe_type FOR EACH STATEMENT EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER alone_declaration_never_changed BEFORE UPDATE ON public.alone_declaration FOR EACH ROW EXECUTE FUNCTION public.never_changed();
CREATE TRIGGER alone_declaration_never_deleted BEFORE DELETE ON public.alone_declaration FOR EACH ROW EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER alone_declaration_never_emptied BEFORE TRUNCATE ON public.alone_declaration FOR EACH STATEMENT EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER approved_part_never_deleted BEFORE DELETE ON public.approved_part FOR EACH ROW EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER approved_part_never_emptied BEFORE TRUNCATE ON public.approved_part FOR EACH STATEMENT EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER company_never_deleted BEFORE DELETE ON public.company FOR EACH ROW EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER company_never_emptied BEFORE TRUNCATE ON public.company FOR EACH STATEMENT EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER count_line_never_deleted BEFORE DELETE ON public.count_line FOR EACH ROW EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER count_line_never_emptied BEFORE TRUNCATE ON public.count_line FOR EACH STATEMENT EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER credential_never_deleted BEFORE DELETE ON public.credential FOR EACH ROW EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER credential_never_emptied BEFORE TRUNCATE ON public.credential FOR EACH STATEMENT EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER delivery_never_deleted BEFORE DELETE ON public.delivery FOR EACH ROW EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER delivery_never_emptied BEFORE TRUNCATE ON public.delivery FOR EACH STATEMENT EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER event_never_changed BEFORE UPDATE ON public.event FOR EACH ROW EXECUTE FUNCTION public.never_changed();
CREATE TRIGGER event_never_deleted BEFORE DELETE ON public.event FOR EACH ROW EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER event_never_emptied BEFORE TRUNCATE ON public.event FOR EACH STATEMENT EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER finding_never_deleted BEFORE DELETE ON public.finding FOR EACH ROW EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER finding_never_emptied BEFORE TRUNCATE ON public.finding FOR EACH STATEMENT EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER fit_record_never_deleted BEFORE DELETE ON public.fit_record FOR EACH ROW EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER fit_record_never_emptied BEFORE TRUNCATE ON public.fit_record FOR EACH STATEMENT EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER hold_item_never_deleted BEFORE DELETE ON public.hold_item FOR EACH ROW EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER hold_item_never_emptied BEFORE TRUNCATE ON public.hold_item FOR EACH STATEMENT EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER hold_never_deleted BEFORE DELETE ON public.hold FOR EACH ROW EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER hold_never_emptied BEFORE TRUNCATE ON public.hold FOR EACH STATEMENT EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER hub_fixing_never_deleted BEFORE DELETE ON public.hub_fixing FOR EACH ROW EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER hub_fixing_never_emptied BEFORE TRUNCATE ON public.hub_fixing FOR EACH STATEMENT EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER inspection_never_changed BEFORE UPDATE ON public.inspection FOR EACH ROW EXECUTE FUNCTION public.never_changed();
CREATE TRIGGER inspection_never_deleted BEFORE DELETE ON public.inspection FOR EACH ROW EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER inspection_never_emptied BEFORE TRUNCATE ON public.inspection FOR EACH STATEMENT EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER job_never_deleted BEFORE DELETE ON public.job FOR EACH ROW EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER job_never_emptied BEFORE TRUNCATE ON public.job FOR EACH STATEMENT EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER job_position_never_deleted BEFORE DELETE ON public.job_position FOR EACH ROW EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER job_position_never_emptied BEFORE TRUNCATE ON public.job_position FOR EACH STATEMENT EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER kit_line_never_changed BEFORE UPDATE ON public.kit_line FOR EACH ROW EXECUTE FUNCTION public.never_changed();
CREATE TRIGGER kit_line_never_deleted BEFORE DELETE ON public.kit_line FOR EACH ROW EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER kit_line_never_emptied BEFORE TRUNCATE ON public.kit_line FOR EACH STATEMENT EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER kit_list_line_never_deleted BEFORE DELETE ON public.kit_list_line FOR EACH ROW EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER kit_list_line_never_emptied BEFORE TRUNCATE ON public.kit_list_line FOR EACH STATEMENT EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER kit_never_deleted BEFORE DELETE ON public.kit FOR EACH ROW EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER kit_never_emptied BEFORE TRUNCATE ON public.kit FOR EACH STATEMENT EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER kit_pick_never_deleted BEFORE DELETE ON public.kit_pick FOR EACH ROW EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER kit_pick_never_emptied BEFORE TRUNCATE ON public.kit_pick FOR EACH STATEMENT EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER kit_position_never_changed BEFORE UPDATE ON public.kit_position FOR EACH ROW EXECUTE FUNCTION public.never_changed();
CREATE TRIGGER kit_position_never_deleted BEFORE DELETE ON public.kit_position FOR EACH ROW EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER kit_position_never_emptied BEFORE TRUNCATE ON public.kit_position FOR EACH STATEMENT EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER label_print_never_changed BEFORE UPDATE ON public.label_print FOR EACH ROW EXECUTE FUNCTION public.never_changed();
CREATE TRIGGER label_print_never_deleted BEFORE DELETE ON public.label_print FOR EACH ROW EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER label_print_never_emptied BEFORE TRUNCATE ON public.label_print FOR EACH STATEMENT EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER label_void_never_changed BEFORE UPDATE ON public.label_void FOR EACH ROW EXECUTE FUNCTION public.never_changed();
CREATE TRIGGER label_void_never_deleted BEFORE DELETE ON public.label_void FOR EACH ROW EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER label_void_never_emptied BEFORE TRUNCATE ON public.label_void FOR EACH STATEMENT EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER lot_never_deleted BEFORE DELETE ON public.lot FOR EACH ROW EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER lot_never_emptied BEFORE TRUNCATE ON public.lot FOR EACH STATEMENT EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER match_reading_never_changed BEFORE UPDATE ON public.match_reading FOR EACH ROW EXECUTE FUNCTION public.never_changed();
CREATE TRIGGER match_reading_never_deleted BEFORE DELETE ON public.match_reading FOR EACH ROW EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER match_reading_never_emptied BEFORE TRUNCATE ON public.match_reading FOR EACH STATEMENT EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER match_record_never_changed BEFORE UPDATE ON public.match_record FOR EACH ROW EXECUTE FUNCTION public.never_changed();
CREATE TRIGGER match_record_never_deleted BEFORE DELETE ON public.match_record FOR EACH ROW EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER match_record_never_emptied BEFORE TRUNCATE ON public.match_record FOR EACH STATEMENT EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER movement_folds AFTER INSERT ON public.movement FOR EACH ROW EXECUTE FUNCTION public.movement_folds();
CREATE TRIGGER movement_never_changed BEFORE UPDATE ON public.movement FOR EACH ROW EXECUTE FUNCTION public.never_changed();
CREATE TRIGGER movement_never_deleted BEFORE DELETE ON public.movement FOR EACH ROW EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER movement_never_emptied BEFORE TRUNCATE ON public.movement FOR EACH STATEMENT EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER occurrence_never_changed BEFORE UPDATE ON public.occurrence FOR EACH ROW EXECUTE FUNCTION public.never_changed();
CREATE TRIGGER occurrence_never_deleted BEFORE DELETE ON public.occurrence FOR EACH ROW EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER occurrence_never_emptied BEFORE TRUNCATE ON public.occurrence FOR EACH STATEMENT EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER override_never_changed BEFORE UPDATE ON public.override FOR EACH ROW EXECUTE FUNCTION public.never_changed();
CREATE TRIGGER override_never_deleted BEFORE DELETE ON public.override FOR EACH ROW EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER override_never_emptied BEFORE TRUNCATE ON public.override FOR EACH STATEMENT EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER paper_kind_never_deleted BEFORE DELETE ON public.paper_kind FOR EACH ROW EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER paper_kind_never_emptied BEFORE TRUNCATE ON public.paper_kind FOR EACH STATEMENT EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER paper_never_changed BEFORE UPDATE ON public.paper FOR EACH ROW EXECUTE FUNCTION public.never_changed();
CREATE TRIGGER paper_never_deleted BEFORE DELETE ON public.paper FOR EACH ROW EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER paper_never_emptied BEFORE TRUNCATE ON public.paper FOR EACH STATEMENT EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER part_mark_never_changed BEFORE UPDATE ON public.part_mark FOR EACH ROW EXECUTE FUNCTION public.never_changed();
CREATE TRIGGER part_mark_never_deleted BEFORE DELETE ON public.part_mark FOR EACH ROW EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER part_mark_never_emptied BEFORE TRUNCATE ON public.part_mark FOR EACH STATEMENT EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER part_never_deleted BEFORE DELETE ON public.part FOR EACH ROW EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER part_never_emptied BEFORE TRUNCATE ON public.part FOR EACH STATEMENT EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER person_never_deleted BEFORE DELETE ON public.person FOR EACH ROW EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER person_never_emptied BEFORE TRUNCATE ON public.person FOR EACH STATEMENT EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER person_role_never_deleted BEFORE DELETE ON public.person_role FOR EACH ROW EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER person_role_never_emptied BEFORE TRUNCATE ON public.person_role FOR EACH STATEMENT EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER piece_never_deleted BEFORE DELETE ON public.piece FOR EACH ROW EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER piece_never_emptied BEFORE TRUNCATE ON public.piece FOR EACH STATEMENT EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER place_never_deleted BEFORE DELETE ON public.place FOR EACH ROW EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER place_never_emptied BEFORE TRUNCATE ON public.place FOR EACH STATEMENT EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER position_group_never_deleted BEFORE DELETE ON public.position_group FOR EACH ROW EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER position_group_never_emptied BEFORE TRUNCATE ON public.position_group FOR EACH STATEMENT EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER position_never_deleted BEFORE DELETE ON public."position" FOR EACH ROW EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER position_never_emptied BEFORE TRUNCATE ON public."position" FOR EACH STATEMENT EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER receipt_line_never_deleted BEFORE DELETE ON public.receipt_line FOR EACH ROW EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER receipt_line_never_emptied BEFORE TRUNCATE ON public.receipt_line FOR EACH STATEMENT EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER removal_never_changed BEFORE UPDATE ON public.removal FOR EACH ROW EXECUTE FUNCTION public.never_changed();
CREATE TRIGGER removal_never_deleted BEFORE DELETE ON public.removal FOR EACH ROW EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER removal_never_emptied BEFORE TRUNCATE ON public.removal FOR EACH STATEMENT EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER reservation_never_deleted BEFORE DELETE ON public.reservation FOR EACH ROW EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER reservation_never_emptied BEFORE TRUNCATE ON public.reservation FOR EACH STATEMENT EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER rotor_set_never_deleted BEFORE DELETE ON public.rotor_set FOR EACH ROW EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER rotor_set_never_emptied BEFORE TRUNCATE ON public.rotor_set FOR EACH STATEMENT EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER sense_map_line_never_changed BEFORE UPDATE ON public.sense_map_line FOR EACH ROW EXECUTE FUNCTION public.never_changed();
CREATE TRIGGER sense_map_line_never_deleted BEFORE DELETE ON public.sense_map_line FOR EACH ROW EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER sense_map_line_never_emptied BEFORE TRUNCATE ON public.sense_map_line FOR EACH STATEMENT EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER sense_map_never_deleted BEFORE DELETE ON public.sense_map FOR EACH ROW EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER sense_map_never_emptied BEFORE TRUNCATE ON public.sense_map FOR EACH STATEMENT EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER setting_change_never_changed BEFORE UPDATE ON public.setting_change FOR EACH ROW EXECUTE FUNCTION public.never_changed();
CREATE TRIGGER setting_change_never_deleted BEFORE DELETE ON public.setting_change FOR EACH ROW EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER setting_change_never_emptied BEFORE TRUNCATE ON public.setting_change FOR EACH STATEMENT EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER site_never_deleted BEFORE DELETE ON public.site FOR EACH ROW EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER site_never_emptied BEFORE TRUNCATE ON public.site FOR EACH STATEMENT EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER stock_count_never_deleted BEFORE DELETE ON public.stock_count FOR EACH ROW EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER stock_count_never_emptied BEFORE TRUNCATE ON public.stock_count FOR EACH STATEMENT EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER store_stamp_never_deleted BEFORE DELETE ON public.store_stamp FOR EACH ROW EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER store_stamp_never_emptied BEFORE TRUNCATE ON public.store_stamp FOR EACH STATEMENT EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER tool_never_deleted BEFORE DELETE ON public.tool FOR EACH ROW EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER tool_never_emptied BEFORE TRUNCATE ON public.tool FOR EACH STATEMENT EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER torque_record_never_changed BEFORE UPDATE ON public.torque_record FOR EACH ROW EXECUTE FUNCTION public.never_changed();
CREATE TRIGGER torque_record_never_deleted BEFORE DELETE ON public.torque_record FOR EACH ROW EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER torque_record_never_emptied BEFORE TRUNCATE ON public.torque_record FOR EACH STATEMENT EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER type_position_never_deleted BEFORE DELETE ON public.type_position FOR EACH ROW EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER type_position_never_emptied BEFORE TRUNCATE ON public.type_position FOR EACH STATEMENT EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER type_revision_never_deleted BEFORE DELETE ON public.type_revision FOR EACH ROW EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER type_revision_never_emptied BEFORE TRUNCATE ON public.type_revision FOR EACH STATEMENT EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER usage_reading_never_changed BEFORE UPDATE ON public.usage_reading FOR EACH ROW EXECUTE FUNCTION public.never_changed();
CREATE TRIGGER usage_reading_never_deleted BEFORE DELETE ON public.usage_reading FOR EACH ROW EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER usage_reading_never_emptied BEFORE TRUNCATE ON public.usage_reading FOR EACH STATEMENT EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER voucher_never_deleted BEFORE DELETE ON public.voucher FOR EACH ROW EXECUTE FUNCTION public.never_deleted();
CREATE TRIGGER voucher_never_emptied BEFORE TRUNCATE ON public.voucher FOR EACH STATEMENT EXECUTE FUNCTION public.never_deleted();
ALTER TABLE ONLY public.acknowledgement
    ADD CONSTRAINT acknowledgement_refers_event_id FOREIGN KEY (event_id) REFERENCES public.event(id) DEFERRABLE INITIALLY DEFERRED;
ALTER TABLE ONLY public.acknowledgement
    ADD CONSTRAINT acknowledgement_refers_person_id FOREIGN KEY (person_id) REFERENCES public.person(id);
ALTER TABLE ONLY public.airframe
    ADD CONSTRAINT airframe_refers_owner_id FOREIGN KEY (owner_id) REFERENCES public.company(id);
ALTER TABLE ONLY public.airframe
    ADD CONSTRAINT airframe_refers_place_id FOREIGN KEY (place_id) REFERENCES public.place(id);
ALTER TABLE ONLY public.airframe
    ADD CONSTRAINT airframe_refers_sense_map_id FOREIGN KEY (sense_map_id) REFERENCES public.sense_map(id);
ALTER TABLE ONLY public.airframe
    ADD CONSTRAINT airframe_refers_type_revision_id FOREIGN KEY (type_revision_id) REFERENCES public.type_revision(id);
ALTER TABLE ONLY public.alone_declaration
    ADD CONSTRAINT alone_declaration_refers_event_id FOREIGN KEY (event_id) REFERENCES public.event(id) DEFERRABLE INITIALLY DEFERRED;
ALTER TABLE ONLY public.alone_declaration
    ADD CONSTRAINT alone_declaration_refers_job_id FOREIGN KEY (job_id) REFERENCES public.job(id);
ALTER TABLE ONLY public.alone_declaration
    ADD CONSTRAINT alone_declaration_refers_person_id FOREIGN KEY (person_id) REFERENCES public.person(id);
ALTER TABLE ONLY public.approved_part
    ADD CONSTRAINT approved_part_refers_part_id FOREIGN KEY (part_id) REFERENCES public.part(id);
ALTER TABLE ONLY public.approved_part
    ADD CONSTRAINT approved_part_refers_type_position_id FOREIGN KEY (type_position_id) REFERENCES public.type_position(id);
ALTER TABLE ONLY public.containment
    ADD CONSTRAINT containment_refers_container_id FOREIGN KEY (container_id) REFERENCES public.place(id);
ALTER TABLE ONLY public.containment
    ADD CONSTRAINT containment_refers_inside_id FOREIGN KEY (inside_id) REFERENCES public.place(id);
ALTER TABLE ONLY public.count_line
    ADD CONSTRAINT count_line_refers_container_id FOREIGN KEY (container_id) REFERENCES public.place(id);
ALTER TABLE ONLY public.count_line
    ADD CONSTRAINT count_line_refers_piece_id FOREIGN KEY (piece_id) REFERENCES public.piece(id);
ALTER TABLE ONLY public.count_line
    ADD CONSTRAINT count_line_refers_receipt_line_id FOREIGN KEY (receipt_line_id) REFERENCES public.receipt_line(id);
ALTER TABLE ONLY public.count_line
    ADD CONSTRAINT count_line_refers_stock_count_id FOREIGN KEY (stock_count_id) REFERENCES public.stock_count(id);
ALTER TABLE ONLY public.credential
    ADD CONSTRAINT credential_refers_person_id FOREIGN KEY (person_id) REFERENCES public.person(id);
ALTER TABLE ONLY public.delivery
    ADD CONSTRAINT delivery_refers_event_id FOREIGN KEY (event_id) REFERENCES public.event(id) DEFERRABLE INITIALLY DEFERRED;
ALTER TABLE ONLY public.delivery
    ADD CONSTRAINT delivery_refers_supplier_id FOREIGN KEY (supplier_id) REFERENCES public.company(id);
ALTER TABLE ONLY public.event
    ADD CONSTRAINT event_refers_by_id FOREIGN KEY (by_id) REFERENCES public.person(id);
ALTER TABLE ONLY public.event
    ADD CONSTRAINT event_refers_second_id FOREIGN KEY (second_id) REFERENCES public.person(id);
ALTER TABLE ONLY public.finding
    ADD CONSTRAINT finding_refers_airframe_id FOREIGN KEY (airframe_id) REFERENCES public.airframe(id);
ALTER TABLE ONLY public.finding
    ADD CONSTRAINT finding_refers_event_id FOREIGN KEY (event_id) REFERENCES public.event(id) DEFERRABLE INITIALLY DEFERRED;
ALTER TABLE ONLY public.finding
    ADD CONSTRAINT finding_refers_job_id FOREIGN KEY (job_id) REFERENCES public.job(id);
ALTER TABLE ONLY public.finding
    ADD CONSTRAINT finding_refers_position_id FOREIGN KEY (position_id) REFERENCES public."position"(id);
ALTER TABLE ONLY public.finding
    ADD CONSTRAINT finding_refers_rotor_set_id FOREIGN KEY (rotor_set_id) REFERENCES public.rotor_set(id);
ALTER TABLE ONLY public.finding
    ADD CONSTRAINT finding_refers_settled_event_id FOREIGN KEY (settled_event_id) REFERENCES public.event(id) DEFERRABLE INITIALLY DEFERRED;
ALTER TABLE ONLY public.fit_record
    ADD CONSTRAINT fit_record_refers_event_id FOREIGN KEY (event_id) REFERENCES public.event(id) DEFERRABLE INITIALLY DEFERRED;
ALTER TABLE ONLY public.fit_record
    ADD CONSTRAINT fit_record_refers_fitted_by_id FOREIGN KEY (fitted_by_id) REFERENCES public.person(id);
ALTER TABLE ONLY public.fit_record
    ADD CONSTRAINT fit_record_refers_inspected_by_id FOREIGN KEY (inspected_by_id) REFERENCES public.person(id);
ALTER TABLE ONLY public.fit_record
    ADD CONSTRAINT fit_record_refers_job_id FOREIGN KEY (job_id) REFERENCES public.job(id);
ALTER TABLE ONLY public.fit_record
    ADD CONSTRAINT fit_record_refers_locker_line_id FOREIGN KEY (locker_line_id) REFERENCES public.receipt_line(id);
ALTER TABLE ONLY public.fit_record
    ADD CONSTRAINT fit_record_refers_position_id FOREIGN KEY (position_id) REFERENCES public."position"(id);
ALTER TABLE ONLY public.fit_record
    ADD CONSTRAINT fit_record_refers_rotor_set_id FOREIGN KEY (rotor_set_id) REFERENCES public.rotor_set(id);
ALTER TABLE ONLY public.fit_record
    ADD CONSTRAINT fit_record_refers_screw_line_id FOREIGN KEY (screw_line_id) REFERENCES public.receipt_line(id);
ALTER TABLE ONLY public.fit_record
    ADD CONSTRAINT fit_record_refers_tool_id FOREIGN KEY (tool_id) REFERENCES public.tool(id);
ALTER TABLE ONLY public.fit_record
    ADD CONSTRAINT fit_record_refers_walked_by_id FOREIGN KEY (walked_by_id) REFERENCES public.person(id);
ALTER TABLE ONLY public.fit_record
    ADD CONSTRAINT fit_record_refers_washer_line_id FOREIGN KEY (washer_line_id) REFERENCES public.receipt_line(id);
ALTER TABLE ONLY public.hold_item
    ADD CONSTRAINT hold_item_refers_hold_id FOREIGN KEY (hold_id) REFERENCES public.hold(id);
ALTER TABLE ONLY public.hold_item
    ADD CONSTRAINT hold_item_refers_kit_id FOREIGN KEY (kit_id) REFERENCES public.kit(id);
ALTER TABLE ONLY public.hold_item
    ADD CONSTRAINT hold_item_refers_piece_id FOREIGN KEY (piece_id) REFERENCES public.piece(id);
ALTER TABLE ONLY public.hold_item
    ADD CONSTRAINT hold_item_refers_receipt_line_id FOREIGN KEY (receipt_line_id) REFERENCES public.receipt_line(id);
ALTER TABLE ONLY public.hold_item
    ADD CONSTRAINT hold_item_refers_released_event_id FOREIGN KEY (released_event_id) REFERENCES public.event(id) DEFERRABLE INITIALLY DEFERRED;
ALTER TABLE ONLY public.hold_item
    ADD CONSTRAINT hold_item_refers_rotor_set_id FOREIGN KEY (rotor_set_id) REFERENCES public.rotor_set(id);
ALTER TABLE ONLY public.hold
    ADD CONSTRAINT hold_refers_placed_event_id FOREIGN KEY (placed_event_id) REFERENCES public.event(id) DEFERRABLE INITIALLY DEFERRED;
ALTER TABLE ONLY public.hold
    ADD CONSTRAINT hold_refers_released_event_id FOREIGN KEY (released_event_id) REFERENCES public.event(id) DEFERRABLE INITIALLY DEFERRED;
ALTER TABLE ONLY public.holding
    ADD CONSTRAINT holding_refers_piece_id FOREIGN KEY (piece_id) REFERENCES public.piece(id);
ALTER TABLE ONLY public.holding
    ADD CONSTRAINT holding_refers_place_id FOREIGN KEY (place_id) REFERENCES public.place(id);
ALTER TABLE ONLY public.holding
    ADD CONSTRAINT holding_refers_receipt_line_id FOREIGN KEY (receipt_line_id) REFERENCES public.receipt_line(id);
ALTER TABLE ONLY public.hub_fixing
    ADD CONSTRAINT hub_fixing_refers_locker_part_id FOREIGN KEY (locker_part_id) REFERENCES public.part(id);
ALTER TABLE ONLY public.hub_fixing
    ADD CONSTRAINT hub_fixing_refers_screw_part_id FOREIGN KEY (screw_part_id) REFERENCES public.part(id);
ALTER TABLE ONLY public.hub_fixing
    ADD CONSTRAINT hub_fixing_refers_type_revision_id FOREIGN KEY (type_revision_id) REFERENCES public.type_revision(id);
ALTER TABLE ONLY public.hub_fixing
    ADD CONSTRAINT hub_fixing_refers_washer_part_id FOREIGN KEY (washer_part_id) REFERENCES public.part(id);
ALTER TABLE ONLY public.inspection
    ADD CONSTRAINT inspection_refers_event_id FOREIGN KEY (event_id) REFERENCES public.event(id) DEFERRABLE INITIALLY DEFERRED;
ALTER TABLE ONLY public.inspection
    ADD CONSTRAINT inspection_refers_piece_id FOREIGN KEY (piece_id) REFERENCES public.piece(id);
ALTER TABLE ONLY public.inspection
    ADD CONSTRAINT inspection_refers_receipt_line_id FOREIGN KEY (receipt_line_id) REFERENCES public.receipt_line(id);
ALTER TABLE ONLY public.inspection
    ADD CONSTRAINT inspection_refers_rotor_set_id FOREIGN KEY (rotor_set_id) REFERENCES public.rotor_set(id);
ALTER TABLE ONLY public.job_position
    ADD CONSTRAINT job_position_refers_job_id FOREIGN KEY (job_id) REFERENCES public.job(id);
ALTER TABLE ONLY public.job_position
    ADD CONSTRAINT job_position_refers_position_id FOREIGN KEY (position_id) REFERENCES public."position"(id);
ALTER TABLE ONLY public.job
    ADD CONSTRAINT job_refers_airframe_id FOREIGN KEY (airframe_id) REFERENCES public.airframe(id);
ALTER TABLE ONLY public.job
    ADD CONSTRAINT job_refers_checked_event_id FOREIGN KEY (checked_event_id) REFERENCES public.event(id) DEFERRABLE INITIALLY DEFERRED;
ALTER TABLE ONLY public.job
    ADD CONSTRAINT job_refers_closed_event_id FOREIGN KEY (closed_event_id) REFERENCES public.event(id) DEFERRABLE INITIALLY DEFERRED;
ALTER TABLE ONLY public.job
    ADD CONSTRAINT job_refers_event_id FOREIGN KEY (event_id) REFERENCES public.event(id) DEFERRABLE INITIALLY DEFERRED;
ALTER TABLE ONLY public.job
    ADD CONSTRAINT job_refers_place_id FOREIGN KEY (place_id) REFERENCES public.place(id);
ALTER TABLE ONLY public.kit_line
    ADD CONSTRAINT kit_line_refers_kit_id FOREIGN KEY (kit_id) REFERENCES public.kit(id);
ALTER TABLE ONLY public.kit_line
    ADD CONSTRAINT kit_line_refers_part_id FOREIGN KEY (part_id) REFERENCES public.part(id);
ALTER TABLE ONLY public.kit_list_line
    ADD CONSTRAINT kit_list_line_refers_part_id FOREIGN KEY (part_id) REFERENCES public.part(id);
ALTER TABLE ONLY public.kit_list_line
    ADD CONSTRAINT kit_list_line_refers_type_revision_id FOREIGN KEY (type_revision_id) REFERENCES public.type_revision(id);
ALTER TABLE ONLY public.kit_pick
    ADD CONSTRAINT kit_pick_refers_event_id FOREIGN KEY (event_id) REFERENCES public.event(id) DEFERRABLE INITIALLY DEFERRED;
ALTER TABLE ONLY public.kit_pick
    ADD CONSTRAINT kit_pick_refers_kit_id FOREIGN KEY (kit_id) REFERENCES public.kit(id);
ALTER TABLE ONLY public.kit_pick
    ADD CONSTRAINT kit_pick_refers_kit_line_id FOREIGN KEY (kit_line_id) REFERENCES public.kit_line(id);
ALTER TABLE ONLY public.kit_pick
    ADD CONSTRAINT kit_pick_refers_piece_id FOREIGN KEY (piece_id) REFERENCES public.piece(id);
ALTER TABLE ONLY public.kit_pick
    ADD CONSTRAINT kit_pick_refers_receipt_line_id FOREIGN KEY (receipt_line_id) REFERENCES public.receipt_line(id);
ALTER TABLE ONLY public.kit_pick
    ADD CONSTRAINT kit_pick_refers_rotor_set_id FOREIGN KEY (rotor_set_id) REFERENCES public.rotor_set(id);
ALTER TABLE ONLY public.kit_pick
    ADD CONSTRAINT kit_pick_refers_type_position_id FOREIGN KEY (type_position_id) REFERENCES public.type_position(id);
ALTER TABLE ONLY public.kit_position
    ADD CONSTRAINT kit_position_refers_kit_id FOREIGN KEY (kit_id) REFERENCES public.kit(id);
ALTER TABLE ONLY public.kit_position
    ADD CONSTRAINT kit_position_refers_type_position_id FOREIGN KEY (type_position_id) REFERENCES public.type_position(id);
ALTER TABLE ONLY public.kit
    ADD CONSTRAINT kit_refers_airframe_id FOREIGN KEY (airframe_id) REFERENCES public.airframe(id);
ALTER TABLE ONLY public.kit
    ADD CONSTRAINT kit_refers_built_by_id FOREIGN KEY (built_by_id) REFERENCES public.person(id);
ALTER TABLE ONLY public.kit
    ADD CONSTRAINT kit_refers_checked_by_id FOREIGN KEY (checked_by_id) REFERENCES public.person(id);
ALTER TABLE ONLY public.kit
    ADD CONSTRAINT kit_refers_event_id FOREIGN KEY (event_id) REFERENCES public.event(id) DEFERRABLE INITIALLY DEFERRED;
ALTER TABLE ONLY public.kit
    ADD CONSTRAINT kit_refers_job_id FOREIGN KEY (job_id) REFERENCES public.job(id);
ALTER TABLE ONLY public.kit
    ADD CONSTRAINT kit_refers_place_id FOREIGN KEY (place_id) REFERENCES public.place(id);
ALTER TABLE ONLY public.kit
    ADD CONSTRAINT kit_refers_type_revision_id FOREIGN KEY (type_revision_id) REFERENCES public.type_revision(id);
ALTER TABLE ONLY public.label_print
    ADD CONSTRAINT label_print_refers_event_id FOREIGN KEY (event_id) REFERENCES public.event(id) DEFERRABLE INITIALLY DEFERRED;
ALTER TABLE ONLY public.label_void
    ADD CONSTRAINT label_void_refers_event_id FOREIGN KEY (event_id) REFERENCES public.event(id) DEFERRABLE INITIALLY DEFERRED;
ALTER TABLE ONLY public.label_void
    ADD CONSTRAINT label_void_refers_label_print_id FOREIGN KEY (label_print_id) REFERENCES public.label_print(id);
ALTER TABLE ONLY public.lot
    ADD CONSTRAINT lot_refers_maker_id FOREIGN KEY (maker_id) REFERENCES public.company(id);
ALTER TABLE ONLY public.lot
    ADD CONSTRAINT lot_refers_part_id FOREIGN KEY (part_id) REFERENCES public.part(id);
ALTER TABLE ONLY public.lot
    ADD CONSTRAINT lot_refers_supplier_id FOREIGN KEY (supplier_id) REFERENCES public.company(id);
ALTER TABLE ONLY public.match_reading
    ADD CONSTRAINT match_reading_refers_match_record_id FOREIGN KEY (match_record_id) REFERENCES public.match_record(id);
ALTER TABLE ONLY public.match_reading
    ADD CONSTRAINT match_reading_refers_piece_id FOREIGN KEY (piece_id) REFERENCES public.piece(id);
ALTER TABLE ONLY public.match_record
    ADD CONSTRAINT match_record_refers_event_id FOREIGN KEY (event_id) REFERENCES public.event(id) DEFERRABLE INITIALLY DEFERRED;
ALTER TABLE ONLY public.match_record
    ADD CONSTRAINT match_record_refers_rotor_set_id FOREIGN KEY (rotor_set_id) REFERENCES public.rotor_set(id);
ALTER TABLE ONLY public.match_record
    ADD CONSTRAINT match_record_refers_tool_id FOREIGN KEY (tool_id) REFERENCES public.tool(id);
ALTER TABLE ONLY public.movement
    ADD CONSTRAINT movement_refers_container_id FOREIGN KEY (container_id) REFERENCES public.place(id);
ALTER TABLE ONLY public.movement
    ADD CONSTRAINT movement_refers_event_id FOREIGN KEY (event_id) REFERENCES public.event(id) DEFERRABLE INITIALLY DEFERRED;
ALTER TABLE ONLY public.movement
    ADD CONSTRAINT movement_refers_from_piece_id FOREIGN KEY (from_piece_id) REFERENCES public.piece(id);
ALTER TABLE ONLY public.movement
    ADD CONSTRAINT movement_refers_from_place_id FOREIGN KEY (from_place_id) REFERENCES public.place(id);
ALTER TABLE ONLY public.movement
    ADD CONSTRAINT movement_refers_receipt_line_id FOREIGN KEY (receipt_line_id) REFERENCES public.receipt_line(id);
ALTER TABLE ONLY public.movement
    ADD CONSTRAINT movement_refers_to_piece_id FOREIGN KEY (to_piece_id) REFERENCES public.piece(id);
ALTER TABLE ONLY public.movement
    ADD CONSTRAINT movement_refers_to_place_id FOREIGN KEY (to_place_id) REFERENCES public.place(id);
ALTER TABLE ONLY public.occurrence
    ADD CONSTRAINT occurrence_refers_airframe_id FOREIGN KEY (airframe_id) REFERENCES public.airframe(id);
ALTER TABLE ONLY public.occurrence
    ADD CONSTRAINT occurrence_refers_event_id FOREIGN KEY (event_id) REFERENCES public.event(id) DEFERRABLE INITIALLY DEFERRED;
ALTER TABLE ONLY public.override
    ADD CONSTRAINT override_refers_event_id FOREIGN KEY (event_id) REFERENCES public.event(id) DEFERRABLE INITIALLY DEFERRED;
ALTER TABLE ONLY public.paper
    ADD CONSTRAINT paper_refers_event_id FOREIGN KEY (event_id) REFERENCES public.event(id) DEFERRABLE INITIALLY DEFERRED;
ALTER TABLE ONLY public.paper
    ADD CONSTRAINT paper_refers_receipt_line_id FOREIGN KEY (receipt_line_id) REFERENCES public.receipt_line(id);
ALTER TABLE ONLY public.part_mark
    ADD CONSTRAINT part_mark_refers_part_id FOREIGN KEY (part_id) REFERENCES public.part(id);
ALTER TABLE ONLY public.part
    ADD CONSTRAINT part_refers_hub_part_id FOREIGN KEY (hub_part_id) REFERENCES public.part(id);
ALTER TABLE ONLY public.part
    ADD CONSTRAINT part_refers_maker_id FOREIGN KEY (maker_id) REFERENCES public.company(id);
ALTER TABLE ONLY public.part
    ADD CONSTRAINT part_refers_superseded_by_id FOREIGN KEY (superseded_by_id) REFERENCES public.part(id);
ALTER TABLE ONLY public.person
    ADD CONSTRAINT person_refers_event_id FOREIGN KEY (event_id) REFERENCES public.event(id) DEFERRABLE INITIALLY DEFERRED;
ALTER TABLE ONLY public.person
    ADD CONSTRAINT person_refers_same_human_as_id FOREIGN KEY (same_human_as_id) REFERENCES public.person(id);
ALTER TABLE ONLY public.person_role
    ADD CONSTRAINT person_role_refers_person_id FOREIGN KEY (person_id) REFERENCES public.person(id);
ALTER TABLE ONLY public.piece
    ADD CONSTRAINT piece_refers_event_id FOREIGN KEY (event_id) REFERENCES public.event(id) DEFERRABLE INITIALLY DEFERRED;
ALTER TABLE ONLY public.piece
    ADD CONSTRAINT piece_refers_maker_id FOREIGN KEY (maker_id) REFERENCES public.company(id);
ALTER TABLE ONLY public.piece
    ADD CONSTRAINT piece_refers_part_id FOREIGN KEY (part_id) REFERENCES public.part(id);
ALTER TABLE ONLY public.piece
    ADD CONSTRAINT piece_refers_receipt_line_id FOREIGN KEY (receipt_line_id) REFERENCES public.receipt_line(id);
ALTER TABLE ONLY public.place
    ADD CONSTRAINT place_refers_person_id FOREIGN KEY (person_id) REFERENCES public.person(id);
ALTER TABLE ONLY public.place
    ADD CONSTRAINT place_refers_site_id FOREIGN KEY (site_id) REFERENCES public.site(id);
ALTER TABLE ONLY public.position_group
    ADD CONSTRAINT position_group_refers_type_position_id FOREIGN KEY (type_position_id) REFERENCES public.type_position(id);
ALTER TABLE ONLY public.position_group
    ADD CONSTRAINT position_group_refers_type_revision_id FOREIGN KEY (type_revision_id) REFERENCES public.type_revision(id);
ALTER TABLE ONLY public."position"
    ADD CONSTRAINT position_refers_airframe_id FOREIGN KEY (airframe_id) REFERENCES public.airframe(id);
ALTER TABLE ONLY public."position"
    ADD CONSTRAINT position_refers_place_id FOREIGN KEY (place_id) REFERENCES public.place(id);
ALTER TABLE ONLY public."position"
    ADD CONSTRAINT position_refers_type_position_id FOREIGN KEY (type_position_id) REFERENCES public.type_position(id);
ALTER TABLE ONLY public.receipt_line
    ADD CONSTRAINT receipt_line_refers_delivery_id FOREIGN KEY (delivery_id) REFERENCES public.delivery(id);
ALTER TABLE ONLY public.receipt_line
    ADD CONSTRAINT receipt_line_refers_event_id FOREIGN KEY (event_id) REFERENCES public.event(id) DEFERRABLE INITIALLY DEFERRED;
ALTER TABLE ONLY public.receipt_line
    ADD CONSTRAINT receipt_line_refers_lot_id FOREIGN KEY (lot_id) REFERENCES public.lot(id);
ALTER TABLE ONLY public.receipt_line
    ADD CONSTRAINT receipt_line_refers_part_id FOREIGN KEY (part_id) REFERENCES public.part(id);
ALTER TABLE ONLY public.removal
    ADD CONSTRAINT removal_refers_airframe_id FOREIGN KEY (airframe_id) REFERENCES public.airframe(id);
ALTER TABLE ONLY public.removal
    ADD CONSTRAINT removal_refers_event_id FOREIGN KEY (event_id) REFERENCES public.event(id) DEFERRABLE INITIALLY DEFERRED;
ALTER TABLE ONLY public.removal
    ADD CONSTRAINT removal_refers_job_id FOREIGN KEY (job_id) REFERENCES public.job(id);
ALTER TABLE ONLY public.removal
    ADD CONSTRAINT removal_refers_position_id FOREIGN KEY (position_id) REFERENCES public."position"(id);
ALTER TABLE ONLY public.removal
    ADD CONSTRAINT removal_refers_rotor_set_id FOREIGN KEY (rotor_set_id) REFERENCES public.rotor_set(id);
ALTER TABLE ONLY public.reservation
    ADD CONSTRAINT reservation_refers_job_id FOREIGN KEY (job_id) REFERENCES public.job(id);
ALTER TABLE ONLY public.reservation
    ADD CONSTRAINT reservation_refers_kit_id FOREIGN KEY (kit_id) REFERENCES public.kit(id);
ALTER TABLE ONLY public.reservation
    ADD CONSTRAINT reservation_refers_rotor_set_id FOREIGN KEY (rotor_set_id) REFERENCES public.rotor_set(id);
ALTER TABLE ONLY public.rotor_set
    ADD CONSTRAINT rotor_set_refers_bound_position_id FOREIGN KEY (bound_position_id) REFERENCES public."position"(id);
ALTER TABLE ONLY public.rotor_set
    ADD CONSTRAINT rotor_set_refers_event_id FOREIGN KEY (event_id) REFERENCES public.event(id) DEFERRABLE INITIALLY DEFERRED;
ALTER TABLE ONLY public.rotor_set
    ADD CONSTRAINT rotor_set_refers_match_record_id FOREIGN KEY (match_record_id) REFERENCES public.match_record(id);
ALTER TABLE ONLY public.rotor_set
    ADD CONSTRAINT rotor_set_refers_part_id FOREIGN KEY (part_id) REFERENCES public.part(id);
ALTER TABLE ONLY public.rotor_set
    ADD CONSTRAINT rotor_set_refers_place_id FOREIGN KEY (place_id) REFERENCES public.place(id);
ALTER TABLE ONLY public.sense_map_line
    ADD CONSTRAINT sense_map_line_refers_position_id FOREIGN KEY (position_id) REFERENCES public."position"(id);
ALTER TABLE ONLY public.sense_map_line
    ADD CONSTRAINT sense_map_line_refers_sense_map_id FOREIGN KEY (sense_map_id) REFERENCES public.sense_map(id);
ALTER TABLE ONLY public.sense_map
    ADD CONSTRAINT sense_map_refers_airframe_id FOREIGN KEY (airframe_id) REFERENCES public.airframe(id);
ALTER TABLE ONLY public.sense_map
    ADD CONSTRAINT sense_map_refers_cleared_event_id FOREIGN KEY (cleared_event_id) REFERENCES public.event(id) DEFERRABLE INITIALLY DEFERRED;
ALTER TABLE ONLY public.sense_map
    ADD CONSTRAINT sense_map_refers_event_id FOREIGN KEY (event_id) REFERENCES public.event(id) DEFERRABLE INITIALLY DEFERRED;
ALTER TABLE ONLY public.sense_map
    ADD CONSTRAINT sense_map_refers_verified_event_id FOREIGN KEY (verified_event_id) REFERENCES public.event(id) DEFERRABLE INITIALLY DEFERRED;
ALTER TABLE ONLY public.setting_change
    ADD CONSTRAINT setting_change_refers_event_id FOREIGN KEY (event_id) REFERENCES public.event(id) DEFERRABLE INITIALLY DEFERRED;
ALTER TABLE ONLY public.stock_count
    ADD CONSTRAINT stock_count_refers_counted_by_id FOREIGN KEY (counted_by_id) REFERENCES public.person(id);
ALTER TABLE ONLY public.stock_count
    ADD CONSTRAINT stock_count_refers_event_id FOREIGN KEY (event_id) REFERENCES public.event(id) DEFERRABLE INITIALLY DEFERRED;
ALTER TABLE ONLY public.stock_count
    ADD CONSTRAINT stock_count_refers_place_id FOREIGN KEY (place_id) REFERENCES public.place(id);
ALTER TABLE ONLY public.torque_record
    ADD CONSTRAINT torque_record_refers_event_id FOREIGN KEY (event_id) REFERENCES public.event(id) DEFERRABLE INITIALLY DEFERRED;
ALTER TABLE ONLY public.torque_record
    ADD CONSTRAINT torque_record_refers_fit_record_id FOREIGN KEY (fit_record_id) REFERENCES public.fit_record(id);
ALTER TABLE ONLY public.torque_record
    ADD CONSTRAINT torque_record_refers_position_id FOREIGN KEY (position_id) REFERENCES public."position"(id);
ALTER TABLE ONLY public.torque_record
    ADD CONSTRAINT torque_record_refers_tool_id FOREIGN KEY (tool_id) REFERENCES public.tool(id);
ALTER TABLE ONLY public.type_position
    ADD CONSTRAINT type_position_refers_hub_fixing_id FOREIGN KEY (hub_fixing_id) REFERENCES public.hub_fixing(id);
ALTER TABLE ONLY public.type_position
    ADD CONSTRAINT type_position_refers_type_revision_id FOREIGN KEY (type_revision_id) REFERENCES public.type_revision(id);
ALTER TABLE ONLY public.type_revision
    ADD CONSTRAINT type_revision_refers_airframe_type_id FOREIGN KEY (airframe_type_id) REFERENCES public.airframe_type(id);
ALTER TABLE ONLY public.usage_reading
    ADD CONSTRAINT usage_reading_refers_airframe_id FOREIGN KEY (airframe_id) REFERENCES public.airframe(id);
ALTER TABLE ONLY public.usage_reading
    ADD CONSTRAINT usage_reading_refers_event_id FOREIGN KEY (event_id) REFERENCES public.event(id) DEFERRABLE INITIALLY DEFERRED;
ALTER TABLE ONLY public.voucher
    ADD CONSTRAINT voucher_refers_airframe_id FOREIGN KEY (airframe_id) REFERENCES public.airframe(id);
ALTER TABLE ONLY public.voucher
    ADD CONSTRAINT voucher_refers_event_id FOREIGN KEY (event_id) REFERENCES public.event(id) DEFERRABLE INITIALLY DEFERRED;
ALTER TABLE ONLY public.voucher
    ADD CONSTRAINT voucher_refers_giver_id FOREIGN KEY (giver_id) REFERENCES public.person(id);
ALTER TABLE ONLY public.voucher
    ADD CONSTRAINT voucher_refers_job_id FOREIGN KEY (job_id) REFERENCES public.job(id);
ALTER TABLE ONLY public.voucher
    ADD CONSTRAINT voucher_refers_kit_id FOREIGN KEY (kit_id) REFERENCES public.kit(id);
ALTER TABLE ONLY public.voucher
    ADD CONSTRAINT voucher_refers_receiver_id FOREIGN KEY (receiver_id) REFERENCES public.person(id);
