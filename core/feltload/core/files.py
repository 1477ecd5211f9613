"""Files written whole or not at all."""

from __future__ import annotations

import contextlib
import os
import secrets
from collections.abc import Iterator
from pathlib import Path


@contextlib.contextmanager
def replacing(path: str | os.PathLike[str], *, private: bool = False) -> Iterator[Path]:
    """A new, empty file beside `path` to write into, which takes its place when the block ends without an error.

    Whoever reads `path` sees the old file or the whole new one, also when the program is killed or the disk
    is full in the middle. After an error nothing is left behind; a kill leaves a hidden ``.part`` file.

    Parameters
    ----------
    path : path
        A link is followed: the file it leads to is replaced.
    private : bool
        Only the owner may read the file (mode 0600); by default the umask decides, as for any new file.

    Yields
    ------
    Path
        In the same folder, since only there a rename is atomic. Its name ends in ``.part``, so that no
        pattern for finished files matches it.

    Raises
    ------
    OSError
        When the folder or the disk does not allow it.
    """
    target = Path(os.path.realpath(path))
    part = target.with_name(f".{target.name}.{secrets.token_hex(4)}.part")
    # The system applies the umask to the mode; asking for the umask would change it for a moment.
    os.close(os.open(part, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600 if private else 0o666))
    try:
        yield part
        # On the disk before the name points to it.
        handle = os.open(part, os.O_RDWR)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
        part.replace(target)
    except BaseException:
        part.unlink(missing_ok=True)
        raise


def write_file(path: str | os.PathLike[str], content: str | bytes, *, private: bool = False) -> None:
    """Write text (as UTF-8, newlines as they are) or bytes, whole or not at all; see `replacing`."""
    data = content.encode() if isinstance(content, str) else content
    with replacing(path, private=private) as part:
        part.write_bytes(data)
