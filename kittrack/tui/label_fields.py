"""What a supplier's label says for the fields of a form, by the names that fields of deeds have."""

from kittrack.domain.scan_result import Scan


def texts_of(scan: Scan) -> dict[str, str]:
    """The texts for fields that a label gives; a GTIN is no part number, so the part stays to be typed then."""
    read = scan.fields
    found = {
        "part": read.customer_part or read.part_number or "",
        "amount": str(read.quantity) if read.quantity else "",
        "lot_code": read.lot or "",
        "expiry": read.expiry.isoformat() if read.expiry else "",
        "made_on": read.made_on.isoformat() if read.made_on else "",
        "serial": read.serial or "",
    }
    told = {name: text for name, text in found.items() if text}
    return told | {"raw_scan": scan.raw} if told else {}
