"""Ask for known faults of every package that CI installs; red for a fault, loud where nobody could be asked.

pip-audit passes over what its advisory service does not answer for and calls that "no known vulnerabilities"; here
each package that was not looked up is counted, and where none was the run says that nothing was audited.
"""

import json
import re
import subprocess
import sys
import tempfile
from pathlib import Path

LOCK = Path(__file__).with_name("requirements.lock")


def main() -> int:
    """Audit the lock file; 1 where a package has a known fault, or the audit itself is broken."""
    pins = re.findall(r"^[A-Za-z0-9._-]+==[^ \\\n]+", LOCK.read_text(encoding="utf-8"), re.MULTILINE)
    with tempfile.NamedTemporaryFile("w", suffix=".txt") as wanted:
        wanted.write("\n".join(pins))
        wanted.flush()
        line = [
            "pip-audit",
            "-r",
            wanted.name,
            "--no-deps",
            "--disable-pip",
            "--format",
            "json",
            "--timeout",
            "10",
        ]
        done = subprocess.run(line, capture_output=True, text=True, check=False)  # noqa: S603 - our own words and a path of our own
    try:
        found = json.loads(done.stdout)["dependencies"]
    except (ValueError, KeyError):
        last = done.stderr.strip().splitlines()[-1:] or ["no answer"]
        if "ConnectionError" in done.stderr or "Timeout" in done.stderr:
            print(f"NOT AUDITED: the advisory service can't be reached from here ({last[0][:200]})")
            return 0
        print(f"audit: pip-audit is broken: {last[0][:300]}")
        return 1
    return report(found, pins=len(pins))


def report(found: list[dict[str, object]], *, pins: int) -> int:
    """Say what was found: faults, and how many packages nobody could be asked about."""
    bad = [d for d in found if d.get("vulns")]
    for one in bad:
        ids = ", ".join(v["id"] for v in one["vulns"])  # type: ignore[attr-defined]  # pip-audit's own form
        print(f"audit: {one['name']} {one.get('version')} has known faults: {ids}")
    asked = sum(1 for d in found if "skip_reason" not in d)
    if asked < pins:
        print(
            f"NOT AUDITED: {pins - asked} of {pins} packages; the advisory service does not answer for them here"
        )
    if asked:
        print(f"audit: {asked} packages looked up, {len(bad)} with known faults")
    return int(bool(bad))


if __name__ == "__main__":
    sys.exit(main())
