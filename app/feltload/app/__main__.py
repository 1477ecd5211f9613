"""``python -m feltload.app`` is ``feltload``."""

from __future__ import annotations

import sys

from feltload.app.entry import main

sys.exit(main())
