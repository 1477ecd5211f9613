"""Keys and codes open sessions once, guessing is slow, and sessions end."""

from __future__ import annotations

from feltload.app.live.server.sessions import (
    CODE_ALPHABET,
    IDLE_S,
    MOST_SESSIONS,
    SESSION_S,
    TRIES,
    TRIES_OF_ALL,
    TRY_WINDOW_S,
    Role,
    Sessions,
    new_code,
    spaced,
)


class Clock:
    def __init__(self) -> None:
        self.now_s = 1000.0

    def __call__(self) -> float:
        return self.now_s


def shared() -> tuple[Sessions, Clock]:
    clock = Clock()
    return Sessions(shared=True, clock=clock), clock


def test_the_key_of_this_computer_works_once_and_gives_control() -> None:
    sessions, _ = shared()
    key = sessions.own_key
    token = sessions.open(key)
    assert token is not None and sessions.role(token) is Role.CONTROL
    assert sessions.open(key) is None


def test_the_key_to_watch_works_for_many_and_gives_no_control() -> None:
    sessions, _ = shared()
    tokens = {sessions.open(sessions.view_key) for _ in range(4)}
    assert len(tokens) == 4
    assert {sessions.role(token or "") for token in tokens} == {Role.VIEW}


def test_the_code_works_once_however_it_is_typed() -> None:
    sessions, _ = shared()
    code = sessions.code
    token = sessions.join(f" {spaced(code).lower()} ", "192.0.2.7")
    assert token is not None and sessions.role(token) is Role.CONTROL
    assert sessions.code != code
    assert sessions.join(code, "192.0.2.7") is None


def test_nothing_opens_a_session_of_pages_that_are_not_shared() -> None:
    alone = Sessions(shared=False)
    assert alone.open("") is None
    assert alone.open(alone.view_key) is None
    assert alone.join("", "192.0.2.7") is None
    assert alone.role("") is Role.NONE


def test_guessing_must_wait_from_one_address_and_from_many() -> None:
    sessions, clock = shared()
    for _ in range(TRIES):
        assert not sessions.must_wait("192.0.2.7")
        assert sessions.join("AAAA AAAA", "192.0.2.7") is None
    assert sessions.must_wait("192.0.2.7")
    assert not sessions.must_wait("192.0.2.8")
    for number in range(TRIES_OF_ALL - TRIES):
        sessions.join("AAAA AAAA", f"198.51.100.{number}")
    assert sessions.must_wait("192.0.2.8")
    clock.now_s += TRY_WINDOW_S + 1.0
    assert not sessions.must_wait("192.0.2.7")


def test_a_session_ends_when_nobody_is_there_and_at_the_end_of_the_day() -> None:
    sessions, clock = shared()
    token = sessions.open(sessions.own_key) or ""
    clock.now_s += IDLE_S + 1.0
    assert sessions.role(token) is Role.NONE
    busy = sessions.open(sessions.own_key) or ""
    began_s = clock.now_s
    while clock.now_s - began_s <= SESSION_S:
        assert sessions.role(busy) is Role.CONTROL
        clock.now_s += 0.5 * IDLE_S
    assert sessions.role(busy) is Role.NONE


def test_many_viewers_never_push_out_who_controls() -> None:
    sessions, _ = shared()
    coach = sessions.open(sessions.own_key) or ""
    viewers = [sessions.open(sessions.view_key) or "" for _ in range(MOST_SESSIONS + 3)]
    assert sessions.role(coach) is Role.CONTROL
    assert sessions.role(viewers[0]) is Role.NONE
    assert sessions.role(viewers[-1]) is Role.VIEW


def test_codes_are_long_and_read_without_doubt() -> None:
    assert len(CODE_ALPHABET) ** len(new_code()) > 1e11
    assert not set("0O1IL") & set(CODE_ALPHABET)
