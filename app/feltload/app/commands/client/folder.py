"""``feltload client new | history | delete``: a client's results over time."""

from __future__ import annotations

from pathlib import Path

from feltload.app.console import Console
from feltload.app.options import DEFAULTS, CommonOptions


def new(parent: Path, /, *, code: str | None = None, note: str = "", common: CommonOptions = DEFAULTS) -> int:
    """Create a client's folder, named by a code instead of a name.

    Example: feltload client new clients

    Parameters
    ----------
    parent
        Folder that holds your clients' folders.
    code
        Code to use; a fresh random one by default.
    note
        Free text to keep with it.
    """
    from feltload.coaching import ClientFolder

    console = Console(common)
    created = ClientFolder.create(parent, code=code, note=note)
    console.say(f"Client {created.record.code}: {created.path}")
    console.note("Which code is whose is for you to keep, apart from this folder.")
    console.result({"code": created.record.code, "folder": str(created.path)})
    return 0


def history(folder: Path, /, *, common: CommonOptions = DEFAULTS) -> int:
    """A client's kept results, each against the one before, with measurement noise beside the change.

    Example: feltload client history clients/K7QW3D

    Parameters
    ----------
    folder
        The client's folder.
    """
    from dataclasses import asdict

    from feltload.app.text.person.strength import (
        describe_pain_history,
        describe_session,
        describe_value_change,
    )
    from feltload.coaching import ClientFolder, latest_changes

    console = Console(common)
    opened = ClientFolder.open(folder)
    sessions = opened.sessions()
    if not sessions and not opened.record.painful:
        console.say("Nothing kept yet.")
    for pain in opened.record.painful:
        for line in describe_pain_history(pain):
            console.say(line)
    for session in sessions:
        console.say(describe_session(session))
    changes = latest_changes(sessions)
    for change in changes:
        console.say(describe_value_change(change))
    console.result(
        {
            "painful": [pain.model_dump() for pain in opened.record.painful],
            "sessions": [session.model_dump() for session in sessions],
            "changes": [{**asdict(change), "beyond_noise": change.beyond_noise} for change in changes],
        }
    )
    return 0


def delete(folder: Path, /, *, yes: bool = False, common: CommonOptions = DEFAULTS) -> int:
    """Delete a client's results for good, in the folder and where they were written elsewhere. There is no copy.

    Removed is what was made for this client and has not changed since. Everything else is named and left.

    Example: feltload client delete clients/K7QW3D --yes

    Parameters
    ----------
    folder
        The client's folder.
    yes
        Do it; without this the files are listed and nothing is deleted.
    """
    from feltload.app.errors import UsageError
    from feltload.app.text.facts import describe
    from feltload.coaching import ClientFolder

    console = Console(common)
    opened = ClientFolder.open(folder)
    files = opened.delete() if yes else opened.files()
    for path in files.made:
        console.say(f"{'deleted' if yes else 'to be deleted'}: {path}")
    for fact in files.left:
        console.say(describe(fact))
    if not yes:
        raise UsageError("nothing was deleted", where=str(folder), remedy="add --yes to delete it for good")
    console.say(
        f"Client {opened.record.code} is deleted{'' if not folder.exists() else '; the folder is left'}."
    )
    console.result(
        {
            "deleted": str(folder),
            "folder_left": folder.exists(),
            "files": [str(path) for path in files.made],
            "left": [fact.to_dict() for fact in files.left],
        }
    )
    return 0
