"""A throw-away CUPS server for the tests: its own folder, socket and settings, and queues that write into files.

A queue of it takes PDF through CUPS' own `pdftopdf` filter, as a driver would, and writes the pages as they would go to
the printer. Debian: cups-daemon, cups-client, cups-filters-core-drivers.
"""

import os
import shutil
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

FILTER = Path("/usr/lib/cups/filter/pdftopdf")
PATIENCE_S = 20

_SETTINGS = """\
Listen {folder}/socket
LogLevel info
MaxLogSize 0
Browsing Off
DefaultAuthType None
WebInterface No
<Location />
  Order allow,deny
  Allow all
</Location>
<Policy default>
  JobPrivateAccess all
  JobPrivateValues none
  SubscriptionPrivateAccess all
  SubscriptionPrivateValues none
  <Limit All>
    Order deny,allow
    Allow all
  </Limit>
</Policy>
"""
_FILES = """\
ServerRoot {folder}/etc
RequestRoot {folder}/spool
TempDir {folder}/tmp
CacheDir {folder}/cache
StateDir {folder}/state
AccessLog {folder}/log/access
ErrorLog {folder}/log/error
PageLog {folder}/log/page
Printcap
FileDevice Yes
SystemGroup {group}
Sandboxing Relaxed
"""
# A made-up label printer that takes any paper; its own paper is A4, so that a page keeps its size only when asked to.
_PRINTER = """\
*PPD-Adobe: "4.3"
*FormatVersion: "4.3"
*FileVersion: "1.0"
*LanguageVersion: English
*LanguageEncoding: ISOLatin1
*PCFileName: "LABELS.PPD"
*Manufacturer: "Invented"
*Product: "(Invented)"
*ModelName: "Invented Label Printer"
*ShortNickName: "Invented Label Printer"
*NickName: "Invented Label Printer"
*PSVersion: "(3010.000) 0"
*LanguageLevel: "3"
*ColorDevice: False
*DefaultColorSpace: Gray
*FileSystem: False
*cupsVersion: 2.4
*cupsFilter2: "application/vnd.cups-pdf application/pdf 0 -"
*OpenUI *PageSize/Media Size: PickOne
*OrderDependency: 10 AnySetup *PageSize
*DefaultPageSize: A4
*PageSize A4/A4: ""
*PageSize Letter/Letter: ""
*CloseUI: *PageSize
*OpenUI *PageRegion: PickOne
*OrderDependency: 10 AnySetup *PageRegion
*DefaultPageRegion: A4
*PageRegion A4/A4: ""
*PageRegion Letter/Letter: ""
*CloseUI: *PageRegion
*DefaultImageableArea: A4
*ImageableArea A4/A4: "12 12 583 830"
*ImageableArea Letter/Letter: "12 12 600 780"
*DefaultPaperDimension: A4
*PaperDimension A4/A4: "595 842"
*PaperDimension Letter/Letter: "612 792"
*VariablePaperSize: True
*MaxMediaWidth: "1000"
*MaxMediaHeight: "1500"
*HWMargins: 3 3 3 3
*CustomPageSize True: "pop pop pop pop pop"
*ParamCustomPageSize Width: 1 points 36 1000
*ParamCustomPageSize Height: 2 points 36 1500
*ParamCustomPageSize WidthOffset: 3 points 0 0
*ParamCustomPageSize HeightOffset: 4 points 0 0
*ParamCustomPageSize Orientation: 5 int 0 1
*DefaultFont: Courier
*Font Courier: Standard "(1.0)" Standard ROM
"""


def missing() -> str:
    """What is not installed of CUPS, in words; empty when a server can be started."""
    programs = [name for name in ("cupsd", "lp", "lpstat", "lpadmin") if _program(name) is None]
    return ", ".join([*programs, *([] if FILTER.exists() else [str(FILTER)])])


def _program(name: str) -> str | None:
    return shutil.which(name, path=f"{os.environ.get('PATH', '')}:/usr/sbin:/sbin")


@dataclass(frozen=True)
class CupsServer:
    """A running server: its folder, and the socket that CUPS_SERVER has to name."""

    folder: Path

    @property
    def socket(self) -> str:
        """The value of CUPS_SERVER."""
        return str(self.folder / "socket")

    def add_queue(self, name: str) -> None:
        """A queue that writes each job over one file."""
        device, driver = f"file://{self.folder / 'out' / name}.pdf", str(self.folder / "labels.ppd")
        self.command("lpadmin", "-p", name, "-E", "-v", device, "-P", driver)

    def command(self, program: str, *arguments: str) -> str:
        """Run a command of CUPS against this server; answers what it said."""
        path = _program(program)
        assert path is not None
        environment = {**os.environ, "CUPS_SERVER": self.socket, "LC_ALL": "C"}
        done = subprocess.run(
            [path, *arguments], env=environment, capture_output=True, text=True, check=False, timeout=60
        )
        assert done.returncode == 0, done.stderr
        return done.stdout

    def printed(self, queue: str, job: str) -> bytes:
        """What a job wrote, once it is done."""
        until = time.monotonic() + PATIENCE_S
        while job not in self.command("lpstat", "-W", "completed", "-o").split():
            assert time.monotonic() < until, (self.folder / "log" / "error").read_text()
            time.sleep(0.05)
        return (self.folder / "out" / f"{queue}.pdf").read_bytes()


@contextmanager
def running() -> Iterator[CupsServer]:
    """A server, ended and removed at the end."""
    folder = Path(tempfile.mkdtemp(prefix="kt-cups-"))  # a short path: a socket's name has at most 107 bytes
    folder.chmod(0o711)  # its filters run as another user
    for name in ("etc", "spool", "tmp", "cache", "state", "log", "out"):
        (folder / name).mkdir()
    group = "root" if os.geteuid() == 0 else str(os.getegid())
    (folder / "etc" / "cupsd.conf").write_text(_SETTINGS.format(folder=folder))
    (folder / "etc" / "cups-files.conf").write_text(_FILES.format(folder=folder, group=group))
    (folder / "labels.ppd").write_text(_PRINTER)
    program = _program("cupsd")
    assert program is not None
    with (folder / "log" / "out").open("w") as said:
        process = subprocess.Popen(
            [program, "-f", "-c", folder / "etc" / "cupsd.conf", "-s", folder / "etc" / "cups-files.conf"],
            stdout=said, stderr=said, stdin=subprocess.DEVNULL,
        )  # fmt: skip
    try:
        until = time.monotonic() + PATIENCE_S
        while not (folder / "socket").exists():
            assert process.poll() is None, (folder / "log" / "out").read_text()
            assert time.monotonic() < until, "cupsd does not answer"
            time.sleep(0.05)
        yield CupsServer(folder)
    finally:
        process.terminate()
        process.wait(PATIENCE_S)
        shutil.rmtree(folder, ignore_errors=True)
