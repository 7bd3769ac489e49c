"""The stations: what is shown, and what comes in at a keyboard or a scanner."""

import os

# The screen library draws at most so often; a verdict that comes just after a frame waits for the next one, up to 17 ms
# of the 20 ms that it has (N2). Nothing is drawn where nothing changed. Read when the library is loaded.
os.environ.setdefault("TEXTUAL_FPS", "200")
