"""Who may watch and who may control: keys, codes, and the sessions that they open."""

from __future__ import annotations

import hmac
import secrets
import time
from collections import defaultdict, deque
from collections.abc import Callable
from dataclasses import dataclass
from enum import IntEnum

CODE_ALPHABET = "ABCDEFGHJKMNPQRSTUVWXYZ23456789"
"""No 0 and O, no 1, I and L: a code is read off one screen and typed on another."""
CODE_LETTERS = 8
SESSION_S = 12 * 3600.0
"""A session ends after a working day."""
IDLE_S = 2 * 3600.0
"""It ends earlier when nothing of it came in for so long."""
TRIES = 6
TRIES_OF_ALL = 30
TRY_WINDOW_S = 60.0
MOST_SESSIONS = 64


class Role(IntEnum):
    """What a session may do; from `VIEW` on, a higher one may do all that a lower one may."""

    NONE = 0
    MOTION = 1
    """Send the motion of a phone, and nothing else: it sees nothing of what is measured."""
    VIEW = 2
    CONTROL = 3


@dataclass
class _Session:
    role: Role
    started_s: float
    seen_s: float


class Sessions:
    """Sessions of one server; all of them end with it.

    Parameters
    ----------
    shared : bool
        Whether others on the network may join; without it only the key of this computer opens a session.
    clock : callable
        Monotonic seconds.

    Attributes
    ----------
    own_key : str
        Opens one session with control: that of the browser started beside the server.
    view_key : str
        Opens sessions that watch; empty when nothing is shared.
    phone_key : str
        Opens one session that sends motion; then another takes its place. Empty when nothing is shared.
    code : str
        Gives a session control, once; then another takes its place. Empty when nothing is shared.
    """

    def __init__(self, *, shared: bool, clock: Callable[[], float] = time.monotonic) -> None:
        self.own_key = secrets.token_urlsafe(24)
        self.view_key = secrets.token_urlsafe(12) if shared else ""
        self.phone_key = secrets.token_urlsafe(12) if shared else ""
        self.code = new_code() if shared else ""
        self._clock = clock
        self._sessions: dict[str, _Session] = {}
        self._tries: dict[str, deque[float]] = defaultdict(deque)

    def open(self, key: str) -> str | None:
        """Open a session by a key from an address; its token, or None for an unknown key.

        The key of this computer works once: who reads it later in a history of addresses has nothing.
        """
        if _same(key, self.own_key):
            self.own_key = secrets.token_urlsafe(24)
            return self._start(Role.CONTROL)
        if _same(key, self.view_key):
            return self._start(Role.VIEW)
        return None

    def open_phone(self, key: str) -> str | None:
        """Open a session that sends motion, by its key; None for an unknown one, or one that was used."""
        if not _same(key, self.phone_key):
            return None
        self.phone_key = secrets.token_urlsafe(12)
        return self._start(Role.MOTION)

    def join(self, code: str, address: str) -> str | None:
        """Open a session with control by the code; None for a wrong one. Ask `must_wait` first."""
        now_s = self._clock()
        self._tries[address].append(now_s)
        self._tries[""].append(now_s)
        typed = "".join(code.split()).replace("-", "").upper()
        if not _same(typed, self.code):
            return None
        self.code = new_code()
        self._tries.pop(address)
        return self._start(Role.CONTROL)

    def must_wait(self, address: str) -> bool:
        """Whether too many codes were tried within the last minute, from this address or from all together."""
        return self._recent(address) >= TRIES or self._recent("") >= TRIES_OF_ALL

    def role(self, token: str) -> Role:
        """What a token allows now; it counts as a sign of life."""
        session = self._sessions.get(token)
        now_s = self._clock()
        if session is None:
            return Role.NONE
        if now_s - session.started_s > SESSION_S or now_s - session.seen_s > IDLE_S:
            del self._sessions[token]
            return Role.NONE
        session.seen_s = now_s
        return session.role

    def _start(self, role: Role) -> str:
        if len(self._sessions) >= MOST_SESSIONS:
            # Watching costs nothing to start again: the viewer silent for longest makes room.
            oldest = min(
                self._sessions,
                key=lambda token: (
                    self._sessions[token].role is not Role.VIEW,
                    self._sessions[token].seen_s,
                ),
            )
            del self._sessions[oldest]
        token = secrets.token_urlsafe(32)
        now_s = self._clock()
        self._sessions[token] = _Session(role, now_s, now_s)
        return token

    def _recent(self, address: str) -> int:
        tries = self._tries.get(address)
        if tries is None:
            return 0
        while tries and self._clock() - tries[0] > TRY_WINDOW_S:
            tries.popleft()
        if not tries:
            del self._tries[address]
            return 0
        return len(tries)


def new_code() -> str:
    """A code to read aloud: eight letters and digits, about 40 bit."""
    return "".join(secrets.choice(CODE_ALPHABET) for _ in range(CODE_LETTERS))


def spaced(code: str) -> str:
    """The code in two groups, as it is shown."""
    return f"{code[: CODE_LETTERS // 2]} {code[CODE_LETTERS // 2 :]}"


def _same(given: str, kept: str) -> bool:
    return bool(kept) and hmac.compare_digest(given.encode(), kept.encode())
