"""What the program ends with, other than 0 and a check that did not pass."""

from __future__ import annotations

EXIT_BAD_INPUT = 2
EXIT_INTERRUPTED = 130
STOPPED = "stopped by the keyboard"
"""Said with `EXIT_INTERRUPTED`."""
