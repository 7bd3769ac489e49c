"""What a person at the stations is told of a fault of kittrack itself; the log tells more, and the screen stays."""

from kittrack import faults


def log_fault(error: BaseException, *, where: str) -> str:
    """Write the trace of an unexpected error to the log; answers with the one sentence that the person gets."""
    said = (
        f"A fault of kittrack itself stopped this step ({type(error).__name__}); nothing more was recorded."
    )
    path = faults.log_fault(error, where=f"stations: {where}")
    if path is None:
        return f"{said} Start again with Esc; the log could not be written."
    return f"{said} Start again with Esc; the log tells more: {path}"
