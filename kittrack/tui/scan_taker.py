"""What lies over a station takes scans itself; none reaches what is underneath."""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from kittrack.domain.moves import Move


class ScanTaker:
    """What a screen over a station does with a scan. `is_working` while the store is at work for it."""

    is_working = False

    @property
    def takes_go_ahead(self) -> bool:
        """Whether the bench sheet's GO AHEAD does what F9 does here; where a rule is overridden it never does."""
        return True

    def take_scan(self, text: str) -> None:
        """Use the scan, or tell the person what to do with it."""
        raise NotImplementedError

    def hear(self, sentence: str) -> None:
        """Show one sentence that comes from outside."""
        raise NotImplementedError

    def action_go_ahead(self) -> None:
        """F9."""

    def action_leave(self) -> None:
        """Esc."""

    def take_move(self, move: "Move") -> None:
        """Do what a bar code of the bench sheet stands for, as far as a key at hand would."""
        from kittrack.domain.moves import Move

        match move:
            case Move.GO_AHEAD if self.takes_go_ahead:
                self.action_go_ahead()
            case Move.GO_AHEAD:
                self.hear("This is not confirmed by a scan; press F9 yourself, or Esc leaves.")
            case Move.START_AGAIN:
                self.action_leave()
            case Move.SECOND_PERSON:
                self.ask_for_second()
            case Move.NEXT_STATION:
                self.hear("Something is open here; finish it or leave it with Esc, then go on.")

    def ask_for_second(self) -> None:
        """Wait for the second person's badge."""
        self.hear("Nothing here asks for a second person.")
