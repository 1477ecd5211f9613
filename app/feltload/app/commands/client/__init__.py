"""``feltload client ...``: what one person can produce, how a machine matches it, and help by hand.

In: What a person typed.
Out: An exit code; a capacity, a plan, a sheet.
"""

from __future__ import annotations

from cyclopts import App

app = App(name="client", help="Fit a measured machine to one person.")

_HERE = "feltload.app.commands.client"
for _name, _target in {
    "positions": "positions:positions",
    "capacity": "capacity:capacity",
    "sides": "sides:sides",
    "match": "fit:match",
    "plan": "fit:plan",
    "limit": "fit:limit",
    "what-if": "what_if:what_if",
    "effort": "session:effort",
    "delivered": "session:delivered",
    "sheet": "sheet:sheet",
    "new": "folder:new",
    "pain": "pain:pain",
    "history": "folder:history",
    "delete": "folder:delete",
}.items():
    app.command(f"{_HERE}.{_target}", name=_name)
