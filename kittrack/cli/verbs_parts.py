"""Verbs of part numbers."""

from typing import Final

from kittrack.cli import reading
from kittrack.cli.verb import Station, Values, Verb, option, switch, word
from kittrack.cli.verbs_settings import read_mark
from kittrack.domain.spin import Sense
from kittrack.services import catalogue
from kittrack.services.catalogue_parts import HANDS, KINDS, TRACKINGS
from kittrack.services.catalogue_specs import PartSpec


def _spec(values: Values) -> Values:
    if "pack" in values:
        quantity, unit = values.pop("pack")
        values |= {"pack_quantity": quantity, "unit": unit}
    return {"spec": PartSpec(**values)}


VERBS: Final = (
    Verb(
        "part add", Station.OFFICE, "Add a part number, a blade with its marks.",
        'RB-19-CW "rotor blade 19 in CW" blade --maker "Invented Rotors" --paper-class rotor --sense CW --mark R=CW '
        '--blades-per-rotor 2 --tolerance "5 g mm" --tolerance-source "maker\'s sheet 1" --by "Manager One"',
        catalogue.add_part,
        (
            word("number", "the part number"),
            word("name", "what it is, in words"),
            word("kind", "the kind of part", choices=KINDS),
            option("maker", "its maker, a company of the catalogue", needed=True),
            option("paper_class", "the class that says which papers suffice", needed=True),
            option("tracking", "by lot or by serial; default by kind", choices=TRACKINGS),
            option("pack", "pieces in a pack or volume of a bottle, such as 8 or 10 mL", read=reading.amount),
            option("sense", "a blade's sense, seen from above", choices=tuple(Sense)),
            option("marks", "a blade's mark: MARK=CW or MARK=CCW", read=read_mark, flag="--mark", many=True),
            option("thread_hand", "a thread's hand, where it has one", choices=HANDS),
            option("blades_per_rotor", "blades of one rotor", read=reading.whole),
            option("hub_part", "the hub's part number", flag="--hub"),
            switch("hub_in_set", "the hub belongs to the set"),
            option("tolerance_g_um", 'residual unbalance that a set may have, such as "5 g mm"', read=reading.moment, flag="--tolerance"),
            option("tolerance_source", "the paper that states the tolerance"),
            switch("pairing_suffices", "the supplier's own pairing is a proof of match"),
            option("pairing_source", "the paper that says so"),
            switch("mixes_lots", "a set may be of several lots"),
            switch("trim_allowed", "the maker allows trimming"),
            option("thread", "a fastener's thread, such as M3"),
            option("length_um", 'a fastener\'s length, such as "8 mm"', read=reading.length, flag="--length"),
            option("head", "a fastener's head"),
            option("drive", "a fastener's drive"),
            option("property_class", "a fastener's property class, such as A2-70"),
            switch("single_use", "never used twice"),
            switch("single_dose", "a pack is one dose"),
            switch("expiry_needed", "it can't be accepted without an expiry"),
            option("shelf_life_days", "shelf life in days from making", read=reading.whole, flag="--shelf-life"),
            option("opened_life_days", "life of an opened bottle in days", read=reading.whole, flag="--opened-life"),
            option("life_minutes", "life limit in hours as h:mm", read=reading.minutes, flag="--life-hours"),
            option("life_flights", "life limit in flights", read=reading.whole),
            option("life_days", "life limit in days", read=reading.whole),
            option("source", "the paper that all this is from"),
        ),
        build=_spec,
    ),
    Verb(
        "part supersede", Station.OFFICE, "Say that a part is superseded: used up, or not used for safety (R6).",
        'SC-M3x8 SC-M3x10 --how "use up" --source "bulletin 9" --by "Manager One"',
        catalogue.supersede_part,
        (
            word("part", 'part number, or "maker: number"'),
            word("successor", "the part that replaces it"),
            option("how", "what becomes of its stock", choices=catalogue.SUPERSEDED, needed=True),
            option("source", "the bulletin or letter that says so", needed=True),
        ),
    ),
)  # fmt: skip
