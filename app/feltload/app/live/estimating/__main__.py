"""``python -m feltload.app.live.estimating``: the estimator's worker process."""

from __future__ import annotations

import sys

from feltload.app.live.estimating.process import main

sys.exit(main())
