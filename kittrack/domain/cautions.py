"""The cautions that people read before their first act and on every document that goes along with work.

Source: design 9.
"""

from typing import Final

CAUTIONS: Final = (
    "kittrack records and checks; it does not replace the maker's manual, the operator's procedures, local "
    "rules, or the judgement of the licensed or authorised person who releases the aircraft.",
    "A sense check by scan never replaces reading the mark on the rotor and a motor-direction test with "
    "rotors off.",
    "Computed torque and balance figures are plausibility checks; the maker's figure decides.",
)
"""All of them, in the order in which they are read."""

NO_RELEASE: Final = (
    "This record is no release. The aircraft is released in the words of the maker's manual and of local rules, by the "
    "licensed or authorised person alone."
)
"""Stands on every record of work at an aircraft."""
