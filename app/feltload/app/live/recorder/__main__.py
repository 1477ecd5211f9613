"""``python -m feltload.app.live.recorder``: the recorder's process."""

from __future__ import annotations

import sys

from feltload.app.live.recorder.process import main

sys.exit(main())
