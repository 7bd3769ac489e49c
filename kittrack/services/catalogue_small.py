"""Companies, kinds of paper and tools: the flat rows of the catalogue, checked and written inside an act.

Source: design R14 (paper), R16 (maker and supplier), R18 (torque tools), R19 (scales).
"""

from datetime import date

from kittrack.domain import codes
from kittrack.domain.bounds import MOST_MASS_UG
from kittrack.domain.preload import MOST_TORQUE_MNM
from kittrack.errors import NotFound, Problem
from kittrack.services.catalogue_faults import choice, fault, raise_any, texts
from kittrack.services.catalogue_specs import CompanySpec, PaperKindSpec, ToolSpec
from kittrack.store.act import Act, Reading
from kittrack.store.records import Company, PaperKind, Tool

TOOL_KINDS = ("torque", "scale")
_TORQUE_FIELDS = ("min_mnm", "max_mnm")
_SCALE_FIELDS = ("resolution_ug", "uncertainty_ug", "repeatability_ug", "ruler_um")


# ---- companies -----------------------------------------------------------------------------------


def check_company(spec: CompanySpec) -> list[Problem]:
    """Every fault of a company that shows without looking into the store."""
    found = texts(spec, needed=("name",))
    if ": " in spec.name:
        found.append(
            fault("name", 'The name holds ": ", which parts a maker from a part number; write it without.')
        )
    if spec.lead_time_days is not None and spec.lead_time_days < 0:
        found.append(fault("lead_time_days", "A lead time is no less than nothing; give whole days."))
    if spec.lead_time_days is not None and not spec.is_supplier:
        found.append(
            fault("lead_time_days", "Only a supplier has a lead time; mark it as one or leave the time out.")
        )
    return found


def company_of(read: Reading, name: str) -> Company:
    """The company of a name.

    Raises:
        NotFound: nobody is known so.
    """
    found = read.find(Company, name=name.strip())
    if found is None:
        raise NotFound(f"no company is known as {name.strip()!r}; add it first (company add)")
    return found


def write_company(act: Act, spec: CompanySpec) -> Company:
    """Write a company.

    Raises:
        BadInput: every fault of the row.
    """
    found = check_company(spec)
    if act.find(Company, name=spec.name):
        found.append(fault("name", f"There is a company {spec.name!r} already; a company stands once."))
    raise_any(found)
    return act.insert(
        Company(
            name=spec.name, is_maker=int(spec.is_maker), is_supplier=int(spec.is_supplier),
            lead_time_days=spec.lead_time_days,
        )
    )  # fmt: skip


# ---- paper ---------------------------------------------------------------------------------------


def check_paper_kind(spec: PaperKindSpec) -> list[Problem]:
    """Every fault of a kind of paper that shows without looking into the store."""
    return texts(spec, needed=("paper_class", "kind"))


def write_paper_kind(act: Act, spec: PaperKindSpec) -> PaperKind:
    """Write that a kind of paper suffices for a class of part; one that was withdrawn counts again.

    Raises:
        BadInput: every fault of the row.
    """
    found = check_paper_kind(spec)
    known = act.find(PaperKind, paper_class=spec.paper_class, kind=spec.kind)
    if known and known.active:
        found.append(fault("kind", f"{spec.kind!r} suffices for {spec.paper_class!r} already; name it once."))
    raise_any(found)
    return (
        act.update(known, active=1)
        if known
        else act.insert(PaperKind(paper_class=spec.paper_class, kind=spec.kind))
    )


# ---- tools ---------------------------------------------------------------------------------------


def check_tool_row(spec: ToolSpec) -> list[Problem]:
    """Every fault of a tool that shows without looking into the store."""
    found = texts(spec, needed=("name",)) + choice("kind", spec.kind, TOOL_KINDS)
    own, other = (_TORQUE_FIELDS, _SCALE_FIELDS) if spec.kind == "torque" else (_SCALE_FIELDS, _TORQUE_FIELDS)
    found += [
        fault(n, f"A {spec.kind} tool has no {n}; leave it out.")
        for n in other
        if getattr(spec, n) is not None
    ]
    found += _check_figures(spec, own)
    try:
        date.fromisoformat(spec.calibrated_until_on or "2000-01-01")
    except ValueError:
        found.append(
            fault(
                "calibrated_until_on", f"{spec.calibrated_until_on!r} is no date; write it like 2027-03-31."
            )
        )
    return found


def _check_figures(spec: ToolSpec, own: tuple[str, ...]) -> list[Problem]:
    if spec.kind == "torque":
        missing = [n for n in own if (getattr(spec, n) or 0) < 1]
        if missing:
            return [
                fault(n, "A torque tool has a range from a least to a greater torque; give both.")
                for n in missing
            ]
        if not (spec.min_mnm or 0) < (spec.max_mnm or 0) <= MOST_TORQUE_MNM:
            return [
                fault("max_mnm", "The greatest torque of a tool lies above its least; read its plate again.")
            ]
        return []
    found = [
        fault(n, f"The {n} is less than nothing; read the scale's sheet again.")
        for n in own
        if (getattr(spec, n) or 0) < 0
    ]
    found += [
        fault(n, f"Without its {n} no match can be proven with a scale (R19); read its sheet.")
        for n in ("resolution_ug", "uncertainty_ug")
        if not 1 <= (getattr(spec, n) or 0) <= MOST_MASS_UG
    ]
    return found


def write_tool(act: Act, spec: ToolSpec) -> tuple[Tool, tuple[str, ...]]:
    """Write a torque tool or a scale with a number of ours; answers with it and with warnings.

    Raises:
        BadInput: every fault of the row.
    """
    found = check_tool_row(spec)
    if act.find(Tool, name=spec.name):
        found.append(fault("name", f"There is a tool {spec.name!r} already; give it its own name."))
    raise_any(found)
    tool = act.insert(
        Tool(
            code=act.new_code(Tool, codes.Kind.TOOL), name=spec.name, kind=spec.kind, min_mnm=spec.min_mnm,
            max_mnm=spec.max_mnm, resolution_ug=spec.resolution_ug, uncertainty_ug=spec.uncertainty_ug,
            repeatability_ug=spec.repeatability_ug, ruler_um=spec.ruler_um, calibrated_until_on=spec.calibrated_until_on,
        )
    )  # fmt: skip
    warnings = (
        ()
        if tool.calibrated_until_on
        else (f"{tool.name} has no calibration date and can't be used until it has.",)
    )
    return tool, warnings
