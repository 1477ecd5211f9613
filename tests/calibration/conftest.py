from __future__ import annotations

import importlib.util
import sys
from pathlib import Path

# Helpers beside the tests are loaded by path: the test directories are no packages.
for _name in ("machine_texts", "handled_sensor"):
    _spec = importlib.util.spec_from_file_location(_name, Path(__file__).with_name(f"{_name}.py"))
    if _spec is not None and _spec.loader is not None and _name not in sys.modules:
        _module = importlib.util.module_from_spec(_spec)
        sys.modules[_name] = _module
        _spec.loader.exec_module(_module)
