"""The full-screen program."""

import os

os.environ.setdefault("TEXTUAL_FPS", "240")  # a change is painted within 4 ms, not 16
