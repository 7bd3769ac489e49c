"""The scan line at the bottom: always ready, typed or scanned alike."""

from textual.app import ComposeResult
from textual.containers import Horizontal
from textual.message import Message
from textual.reactive import reactive
from textual.widgets import Input

from kittrack.tui.widgets.words import Words


class ScanLine(Horizontal):
    """A prompt and a line to type on; Enter hands the text over as `ScanLine.Typed`."""

    prompt: reactive[str] = reactive("scan")

    class Typed(Message):
        """What a person typed and ended with Enter."""

        def __init__(self, text: str) -> None:
            super().__init__()
            self.text = text

    class Changed(Message):
        """What stands on the line now, key by key."""

        def __init__(self, text: str) -> None:
            super().__init__()
            self.text = text

    def __init__(self) -> None:
        super().__init__(id="scan-line")
        self._input = Input(compact=True, id="scan", select_on_focus=False)
        self._input.cursor_blink = False

    def compose(self) -> ComposeResult:
        """Prompt and line."""
        yield Words(_shown(self.prompt), widget_id="prompt")
        yield self._input

    def watch_prompt(self, prompt: str) -> None:
        """Show what is asked for."""
        if self.is_mounted:
            self.query_one("#prompt", Words).put(_shown(prompt))

    @property
    def line(self) -> Input:
        """What has the focus."""
        return self._input

    @property
    def text(self) -> str:
        """What stands on the line."""
        return self._input.value

    def begin_with(self, text: str) -> None:
        """Go on with what was typed before this line was there."""
        self._input.value = text + self._input.value
        self._input.cursor_position = len(self._input.value)

    def clear(self) -> None:
        """Empty the line."""
        self._input.value = ""

    def take_focus(self) -> None:
        """Be where keys go."""
        self._input.focus()

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Hand over what was typed, and be empty again."""
        event.stop()
        text = event.value
        self.clear()
        if text.strip():
            self.post_message(self.Typed(text))

    def on_input_changed(self, event: Input.Changed) -> None:
        """Tell what stands here now."""
        event.stop()
        self.post_message(self.Changed(event.value))


def _shown(prompt: str) -> str:
    return f" {prompt} > "
