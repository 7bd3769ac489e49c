"""What holds the fields of a form and scrolls with the focus; the arrow keys are the form's own."""

from textual.containers import VerticalScroll


class FieldBox(VerticalScroll, can_focus=False, inherit_bindings=False):
    """Fields below each other. A plain scrolling box takes Up and Down for itself once it holds more than fits."""
