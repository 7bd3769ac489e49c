"""Which hubs a job tightened otherwise than the type revision states since: a torque was changed meanwhile (R18, R21)."""

from kittrack.domain.fixing import StatedTightening, is_still_as_stated
from kittrack.domain.preload import newton_metres
from kittrack.domain.torque import Method
from kittrack.store.act import Reading

_LAST_TORQUES = (
    "SELECT a.tail || ' ' || p.name, t.torque_method, t.torque_mnm, h.torque_method, h.torque_mnm, h.torque_tolerance_mnm, "
    "h.torque_text FROM fit_record f JOIN torque_record t ON t.fit_record_id = f.id JOIN position p ON p.id = f.position_id "
    "JOIN airframe a ON a.id = p.airframe_id JOIN type_position y ON y.id = p.type_position_id "
    "JOIN hub_fixing h ON h.id = y.hub_fixing_id WHERE f.job_id = ? AND f.state IN ('fastened', 'inspected') "
    "AND t.id = (SELECT max(o.id) FROM torque_record o WHERE o.fit_record_id = f.id) ORDER BY p.id"
)


def tightened_otherwise(read: Reading, job_id: int) -> tuple[tuple[str, str], ...]:
    """The positions that a job tightened, and how their last tightening differs from what is stated; in their order."""
    found = []
    for name, method, applied_mnm, stated_method, stated_mnm, tolerance_mnm, words in read.rows(
        _LAST_TORQUES, job_id
    ):
        stated = StatedTightening(
            Method(stated_method), torque_mnm=stated_mnm, tolerance_mnm=tolerance_mnm, words=words
        )
        if not is_still_as_stated(stated, method=method, torque_mnm=applied_mnm):
            applied = newton_metres(applied_mnm) if applied_mnm is not None else f"by {method}"
            wanted = newton_metres(stated_mnm) if stated.method is Method.TORQUE else str(stated)
            found.append((str(name), f"was tightened {_with(applied)} and is stated with {wanted}"))
    return tuple(found)


def _with(applied: str) -> str:
    return applied if applied.startswith("by ") else f"with {applied}"
