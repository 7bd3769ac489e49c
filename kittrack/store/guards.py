"""The triggers by which the database itself holds append-only history, conservation and containment.

The same guards stand on both engines. Each raises a fixed text that begins with "guard:"; the store
translates it in one place (database.py). Source: design A4, section 2.
"""

from kittrack.store.records import TABLES

OVERDRAWN_KINDS = "('supplier', 'unaccounted')"

CHANGED = "guard: history can not be changed"
DELETED = "guard: rows can not be deleted"
SHORT = "guard: more would be taken than is there"
CLOSED = "guard: a closed container can not be taken from or added to"
ELSEWHERE = "guard: the container is not where the movement takes it from"
NESTED = "guard: that container can not be put inside there"
DEAD_PLACE = "guard: the place is no longer in use"

_CACHES = {"holding", "containment"}


def _tables() -> list[str]:
    return [*TABLES, "store_stamp"]


def _frozen_sqlite() -> list[str]:
    made = []
    for name in _tables():
        if name in _CACHES:
            continue
        made.append(
            f'CREATE TRIGGER {name}_never_deleted BEFORE DELETE ON "{name}" '
            f"BEGIN SELECT RAISE(ABORT, '{DELETED}'); END"
        )
        if name in TABLES and TABLES[name].shape.once:
            made.append(
                f'CREATE TRIGGER {name}_never_changed BEFORE UPDATE ON "{name}" '
                f"BEGIN SELECT RAISE(ABORT, '{CHANGED}'); END"
            )
    return made


_CONTAINER_RULE = """
    (c.kind = 'rotor set' AND t.kind IN ('rotor set', 'airframe'))
    OR (c.kind = 'kit' AND t.kind IN ('rotor set', 'kit', 'position', 'airframe', 'job'))
    OR (c.kind = 'position' AND t.kind <> 'airframe')
    OR (c.kind = 'airframe' AND t.kind IN ('rotor set', 'kit', 'position', 'airframe', 'job', 'hands'))
    OR c.kind NOT IN ('rotor set', 'kit', 'position', 'airframe')"""

_MOVEMENT_SQLITE = f"""
CREATE TRIGGER movement_folds AFTER INSERT ON movement BEGIN
  SELECT RAISE(ABORT, '{CLOSED}') WHERE
    (NEW.from_place_id IS NULL OR NEW.from_place_id <> NEW.to_place_id) AND EXISTS (
      SELECT 1 FROM place WHERE closed = 1 AND id IN (NEW.from_place_id, NEW.to_place_id));
  SELECT RAISE(ABORT, '{DEAD_PLACE}') WHERE EXISTS (SELECT 1 FROM place WHERE active = 0 AND id = NEW.to_place_id);

  SELECT RAISE(ABORT, '{NESTED}') WHERE NEW.container_id IS NOT NULL AND EXISTS (
    SELECT 1 FROM place c, place t WHERE c.id = NEW.container_id AND t.id = NEW.to_place_id AND ({_CONTAINER_RULE}));
  SELECT RAISE(ABORT, '{ELSEWHERE}') WHERE NEW.container_id IS NOT NULL AND NEW.from_place_id IS NOT NULL
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
  SELECT RAISE(ABORT, '{SHORT}') WHERE NEW.from_piece_id IS NOT NULL AND NOT EXISTS (
    SELECT 1 FROM holding WHERE receipt_line_id = NEW.receipt_line_id AND place_id = NEW.from_place_id
      AND condition = NEW.from_condition AND piece_id = NEW.from_piece_id AND quantity >= NEW.quantity);
  UPDATE holding SET quantity = quantity - NEW.quantity
    WHERE receipt_line_id = NEW.receipt_line_id AND place_id = NEW.from_place_id
      AND condition = NEW.from_condition AND piece_id IS NEW.from_piece_id;
  SELECT RAISE(ABORT, '{SHORT}') WHERE EXISTS (
    SELECT 1 FROM holding h JOIN place p ON p.id = h.place_id
    WHERE h.receipt_line_id = NEW.receipt_line_id AND h.place_id = NEW.from_place_id
      AND h.condition = NEW.from_condition AND h.piece_id IS NEW.from_piece_id AND h.quantity < 0
      AND p.kind NOT IN {OVERDRAWN_KINDS});
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
END"""

_MOVEMENT_POSTGRESQL = f"""
CREATE FUNCTION movement_folds() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE left_over bigint; from_kind text; from_closed bigint; to_kind text; to_closed bigint; to_active bigint; container_kind text;
BEGIN
  SELECT kind, closed, active INTO to_kind, to_closed, to_active FROM place WHERE id = NEW.to_place_id;
  IF NEW.from_place_id IS NOT NULL THEN
    SELECT kind, closed INTO from_kind, from_closed FROM place WHERE id = NEW.from_place_id;
  END IF;
  IF NEW.from_place_id IS DISTINCT FROM NEW.to_place_id AND (to_closed = 1 OR from_closed = 1) THEN
    RAISE EXCEPTION '{CLOSED}' USING ERRCODE = 'integrity_constraint_violation';
  END IF;
  IF to_active = 0 THEN
    RAISE EXCEPTION '{DEAD_PLACE}' USING ERRCODE = 'integrity_constraint_violation';
  END IF;
  IF NEW.container_id IS NOT NULL THEN
    SELECT kind INTO container_kind FROM place WHERE id = NEW.container_id;
    IF EXISTS (SELECT 1 FROM (SELECT container_kind AS kind) c, (SELECT to_kind AS kind) t
               WHERE {_CONTAINER_RULE}) THEN
      RAISE EXCEPTION '{NESTED}' USING ERRCODE = 'integrity_constraint_violation';
    END IF;
    IF NEW.from_place_id IS NULL THEN
      INSERT INTO containment (id, container_id, inside_id)
        VALUES (NEW.container_id, NEW.container_id, NEW.to_place_id);
    ELSE
      UPDATE containment SET inside_id = NEW.to_place_id
        WHERE container_id = NEW.container_id AND inside_id = NEW.from_place_id;
      IF NOT FOUND THEN
        RAISE EXCEPTION '{ELSEWHERE}' USING ERRCODE = 'integrity_constraint_violation';
      END IF;
    END IF;
    RETURN NULL;
  END IF;

  UPDATE holding SET quantity = quantity - NEW.quantity
    WHERE receipt_line_id = NEW.receipt_line_id AND place_id = NEW.from_place_id
      AND condition = NEW.from_condition AND piece_id IS NOT DISTINCT FROM NEW.from_piece_id
    RETURNING quantity INTO left_over;
  IF NOT FOUND THEN
    IF NEW.from_piece_id IS NOT NULL OR from_kind NOT IN {OVERDRAWN_KINDS} THEN
      RAISE EXCEPTION '{SHORT}' USING ERRCODE = 'integrity_constraint_violation';
    END IF;
    INSERT INTO holding (id, receipt_line_id, piece_id, place_id, condition, quantity)
      VALUES (nextval('holding_ids'), NEW.receipt_line_id, NULL, NEW.from_place_id, NEW.from_condition, -NEW.quantity);
  ELSIF left_over < 0 AND (NEW.from_piece_id IS NOT NULL OR from_kind NOT IN {OVERDRAWN_KINDS}) THEN
    RAISE EXCEPTION '{SHORT}' USING ERRCODE = 'integrity_constraint_violation';
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
END $$"""


def _frozen_postgresql() -> list[str]:
    made = [
        f"CREATE FUNCTION never_deleted() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN RAISE EXCEPTION "
        f"'{DELETED}' USING ERRCODE = 'integrity_constraint_violation'; END $$",
        f"CREATE FUNCTION never_changed() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN RAISE EXCEPTION "
        f"'{CHANGED}' USING ERRCODE = 'integrity_constraint_violation'; END $$",
    ]
    for name in _tables():
        if name in _CACHES:
            continue
        made.append(
            f'CREATE TRIGGER {name}_never_deleted BEFORE DELETE ON "{name}" '
            "FOR EACH ROW EXECUTE FUNCTION never_deleted()"
        )
        made.append(
            f'CREATE TRIGGER {name}_never_emptied BEFORE TRUNCATE ON "{name}" '
            "FOR EACH STATEMENT EXECUTE FUNCTION never_deleted()"
        )
        if name in TABLES and TABLES[name].shape.once:
            made.append(
                f'CREATE TRIGGER {name}_never_changed BEFORE UPDATE ON "{name}" '
                "FOR EACH ROW EXECUTE FUNCTION never_changed()"
            )
    return made


def guard_statements(engine: str) -> list[str]:
    """The SQL of every guard for "sqlite" or "postgresql", in order."""
    if engine == "sqlite":
        return [*_frozen_sqlite(), _MOVEMENT_SQLITE]
    return [
        "CREATE SEQUENCE holding_ids",
        *_frozen_postgresql(),
        _MOVEMENT_POSTGRESQL,
        "CREATE TRIGGER movement_folds AFTER INSERT ON movement FOR EACH ROW EXECUTE FUNCTION movement_folds()",
    ]


def trigger_names(engine: str) -> frozenset[str]:
    """The names of all triggers that a healthy store has."""
    made = [s.split()[2] for s in guard_statements(engine) if s.lstrip().startswith("CREATE TRIGGER")]
    return frozenset(made)
