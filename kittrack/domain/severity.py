"""Switching rules: what a supplier's last lots say about how hard to look at the next one.

Source: design C13; ISO 2859-1 clause 9 as charted by public summaries (2 of 5 refused, 5 passed, switching
score 30, 5 refused on tightened inspection); the steps of the score from memory.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Final

from kittrack.domain import bounds
from kittrack.domain.rules import Rule
from kittrack.domain.sampling import AQLS, LotPlan, Severity, single_plan
from kittrack.errors import Refusal

_WINDOW: Final = 5  # consecutive lots that are looked back upon
_REFUSED_FOR_TIGHTENED: Final = 2
_PASSED_FOR_NORMAL: Final = 5
_REFUSED_FOR_STOP: Final = 5
_SCORE_FOR_REDUCED: Final = 30


@dataclass(frozen=True)
class LotResult:
    """What came of one lot: its plan and the faulty pieces found. A lot handed in again does not count."""

    lot: LotPlan
    faulty: int
    handed_in_again: bool = False

    def __post_init__(self) -> None:
        bounds.whole(self.faulty, name="faulty pieces found", low=0, high=self.lot.inspect)

    @property
    def passed(self) -> bool:
        """Whether the lot passed; in the gap of a reduced plan it does."""
        return self.faulty < self.lot.rejection

    @property
    def in_gap(self) -> bool:
        """Whether a reduced plan passed it only just, which ends reduced inspection."""
        return self.lot.acceptance < self.faulty < self.lot.rejection


@dataclass(frozen=True)
class Standing:
    """Where a supplier stands for one part.

    `stopped` means that sampling ends until the supplier has acted and a manager says that it helps;
    then the history starts anew with `Standing(Severity.TIGHTENED)`.
    """

    severity: Severity = Severity.NORMAL
    score: int = 0
    recent: tuple[bool, ...] = ()
    refused_on_tightened: int = 0
    stopped: bool = False


def standing_after(
    history: Iterable[LotResult], *, allow_reduced: bool = False, start: Standing | None = None
) -> Standing:
    """Where a supplier stands after these lots of one part.

    A lot that was looked at in another severity than was due counts only if it failed.

    Args:
        history: the lots in the order of inspection.
        allow_reduced: whether production runs steadily and a manager wants reduced inspection.
        start: where to begin; normal inspection with an empty record by default.
    """
    standing = start or Standing()
    for result in history:
        if standing.stopped:
            break
        if result.handed_in_again or (result.lot.severity is not standing.severity and result.passed):
            continue
        standing = _after(standing, result, allow_reduced=allow_reduced)
    return standing


def check_sample(plan: LotPlan, *, faulty: int, stopped: bool, subject: str) -> list[Refusal]:
    """Why a lot is not accepted by its sample (R6, C13).

    Args:
        plan: what was to be looked at.
        faulty: pieces of the sample that were faulty.
        stopped: whether sampling of this supplier's lots of the part has ended.
        subject: the receipt line with its part, as a refusal names it.
    """
    bounds.whole(faulty, name="faulty pieces found", low=0, high=max(plan.inspect, plan.rejection))
    way_out = "have every piece looked at, or reject the lot"
    if stopped:
        message = f"Too many lots before {subject} were refused, so its lots are not sampled; {way_out}."
        return [Refusal(Rule.FIT_FOR_ISSUE, subject, message)]
    if faulty < plan.rejection:
        return []
    message = (
        f"{subject}: {faulty} faulty of {plan.inspect} looked at, and the lot passes with at most "
        f"{plan.rejection - 1}; {way_out}."
    )
    return [Refusal(Rule.FIT_FOR_ISSUE, subject, message)]


def _after(standing: Standing, result: LotResult, *, allow_reduced: bool) -> Standing:
    """One step of the switching rules."""
    recent = (*standing.recent, result.passed)[-_WINDOW:]
    if standing.severity is Severity.REDUCED:
        steady = allow_reduced and result.passed and not result.in_gap
        return replace(standing, recent=recent) if steady else Standing()
    if standing.severity is Severity.TIGHTENED:
        if recent == (True,) * _PASSED_FOR_NORMAL:
            return Standing()
        refused = standing.refused_on_tightened + (not result.passed)
        return replace(
            standing, recent=recent, refused_on_tightened=refused, stopped=refused >= _REFUSED_FOR_STOP
        )
    if recent.count(False) >= _REFUSED_FOR_TIGHTENED:
        return Standing(Severity.TIGHTENED)
    score = _score_after(standing.score, result)
    if allow_reduced and score >= _SCORE_FOR_REDUCED:
        return Standing(Severity.REDUCED)
    return replace(standing, recent=recent, score=score)


def _score_after(score: int, result: LotResult) -> int:
    """The switching score: 3 for a lot that a limit one step tighter would pass, 2 where Ac is 0 or 1."""
    if not result.passed:
        return 0
    plan = result.lot.plan
    if plan is None or result.lot.acceptance < 2:
        return score + 2
    step = AQLS.index(plan.aql) - 1  # plans with an acceptance number of 2 begin at the fourth limit
    tighter = single_plan(plan.code_letter, aql=AQLS[step])
    return score + 3 if result.faulty <= tighter.acceptance else 0
