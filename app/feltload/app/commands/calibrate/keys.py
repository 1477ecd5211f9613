"""``feltload calibrate keys``: a key to sign certificates with."""

from __future__ import annotations

from pathlib import Path

from feltload.app.console import Console
from feltload.app.options import DEFAULTS, CommonOptions


def keys(path: Path, /, *, common: CommonOptions = DEFAULTS) -> int:
    """Make a private key to sign certificates with, and show its fingerprint.

    Give the fingerprint to whoever relies on your certificates, on another way than the certificates: what is signed
    with this key shows it. The file is for its owner alone; keep a copy in a safe place, and never send it.

    Example: feltload calibrate keys lab.key

    Parameters
    ----------
    path
        Private key to write.
    """
    from feltload.acquisition import new_signing_key
    from feltload.app.files.outputs import claim_file

    console = Console(common)
    fingerprint = new_signing_key(claim_file(path, overwrite=False, private=True))
    console.say(f"Private key: {path} (for you alone)")
    console.say(f"Fingerprint, for others: {fingerprint}")
    console.result({"key": str(path), "fingerprint": fingerprint})
    return 0
