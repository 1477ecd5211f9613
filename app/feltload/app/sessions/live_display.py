"""What the terminal shows while a recording runs: every stream's state, the swing, and what to do now."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from contextlib import contextmanager

from rich.console import Console as RichConsole, Group
from rich.live import Live
from rich.progress_bar import ProgressBar
from rich.table import Table
from rich.text import Text

from feltload.acquisition import RecordingStatus, StreamHealth, StreamStatus
from feltload.app.scripts.moment import STOPPED
from feltload.app.scripts.script import Script
from feltload.app.scripts.swing import Swing
from feltload.app.sessions.script_choice import PreparedScript
from feltload.app.text.facts import describe
from feltload.app.text.numbers import hand_force
from feltload.app.text.person.moments import first_of_all, moment_headline

BAR_WIDTH = 30


class LiveDisplay:
    """Terminal picture of a running recording.

    Parameters
    ----------
    screen : rich Console
        Where to draw; without a terminal, a line every few seconds instead.
    prepared : PreparedScript
        Says what to do now.
    total_s : float or None
        Planned length, for the bar.
    keys : str
        What the keys do, for the last line.
    ask : callable, optional
        Gives what to ask for before the script, None when there is nothing of it.
    """

    PLAIN_EVERY_S = 5.0

    def __init__(
        self,
        screen: RichConsole,
        prepared: PreparedScript,
        *,
        total_s: float | None,
        keys: str = "",
        ask: Callable[[RecordingStatus], str | None] | None = None,
    ) -> None:
        self.swing = Swing()
        self.prompt: str | None = None
        self._screen = screen
        self._prepared = prepared
        self._script: Script = prepared.script
        self._status: RecordingStatus | None = None
        self._step: object = None
        self._total_s = total_s
        self._keys = keys
        self._ask = ask
        self._asked: str | None = None
        self._live: Live | None = None
        self._said_s = -math.inf

    @contextmanager
    def running(self) -> Iterator[None]:
        """Draw for as long as the block runs."""
        if not self._screen.is_terminal:
            for line in self._prepared.lines:
                self._screen.print(line, markup=False, soft_wrap=True)
            yield
            return
        with Live(console=self._screen, refresh_per_second=8, transient=True) as live:
            self._live = live
            yield
        self._live = None

    def update(self, status: RecordingStatus) -> None:
        """Take the recorder's status; called a few times a second."""
        for stream in status.streams:
            self.swing.feed(stream.latest)
        before, self._asked = self._asked, None if self._ask is None else self._ask(status)
        rings = False
        if any(stream.overloaded for stream in status.streams):
            self._script.overload()
        if status.phase == "recording" and self._asked is None:
            self._script.follow(status, self.swing)
            rings = self._script.announced != self._step
            self._step = self._script.announced
        self._status = status
        if self._live is not None:
            self.redraw()
            if rings:
                # Who holds or helps does not look at the screen.
                self._screen.bell()
        elif self._asked is not None and before is None:
            self._screen.print(self._asked, markup=False, soft_wrap=True)
        elif rings:
            self._screen.print(self._headline(), markup=False, soft_wrap=True)
        elif status.elapsed_s - self._said_s >= self.PLAIN_EVERY_S:
            self._said_s = status.elapsed_s
            self._screen.print(self._plain(status), markup=False, soft_wrap=True)

    @property
    def recording(self) -> bool:
        """Whether the sensors send, so that a recording is there to be marked."""
        return self._status is not None and self._status.phase != "connecting"

    def redraw(self) -> None:
        """Draw again, such as when a key was pressed."""
        if self._live is not None and self._status is not None:
            self._live.update(self._picture(self._status))

    def _plain(self, status: RecordingStatus) -> str:
        streams = ", ".join(f"{stream.name} {_rate(stream)}" for stream in status.streams)
        return f"{status.elapsed_s:4.0f} s  {status.phase}  {streams}".rstrip()

    def _picture(self, status: RecordingStatus) -> Group:
        lines: list[Text | Table | ProgressBar] = [Text(self._advice(status), style="bold")]
        if self._total_s is not None and status.phase != "connecting":
            lines.append(ProgressBar(total=self._total_s, completed=status.elapsed_s, width=BAR_WIDTH * 2))
        if status.streams:
            lines.append(_stream_table(status.streams))
            lines.append(self._swing_line())
        lines += [Text(line) for line in self._lines]
        if self.prompt is not None:
            lines.append(Text(self.prompt, style="bold reverse"))
        elif self._keys:
            lines.append(Text(self._keys, style="dim"))
        return Group(*lines)

    def _advice(self, status: RecordingStatus) -> str:
        return first_of_all(status) or self._asked or self._headline()

    @property
    def _lines(self) -> tuple[str, ...]:
        """The partner's plan, until something stopped the script."""
        return self._prepared.lines if self._script.moment.ask not in STOPPED else ()

    def _headline(self) -> str:
        return moment_headline(self._script.moment, self._prepared.along)

    def _swing_line(self) -> Text:
        widest = max(self.swing.widest_deg, 1e-9)
        filled = round(BAR_WIDTH * min(1.0, self.swing.now_deg / widest))
        bar = "█" * filled + "·" * (BAR_WIDTH - filled)
        return Text(
            f"swing {bar} {self.swing.now_deg:3.0f}° of {self.swing.widest_deg:.0f}° so far, "
            f"{self.swing.turns} repetitions (roughly)"
        )


def _rate(stream: StreamStatus) -> str:
    return "waiting" if math.isnan(stream.rate_hz) else f"{stream.rate_hz:.0f} Hz"


def _stream_table(streams: tuple[StreamStatus, ...]) -> Table:
    table = Table(box=None, pad_edge=False)
    for title in ("sensor", "rate", "lost", "damaged", "at its limit", "overload", "waiting", "now"):
        table.add_column(title, justify="left" if title in ("sensor", "now") else "right")
    for stream in streams:
        health = stream.health
        table.add_row(
            stream.name,
            _rate(stream) if stream.connected else Text("no link", style="bold red"),
            _lost(health),
            _count(health.bad_checksum + health.bad_frames),
            _count(health.saturated),
            Text("LET DOWN", style="bold white on red") if stream.overloaded else _count(health.overloads),
            str(stream.backlog),
            _now(stream),
        )
    return table


def _lost(health: StreamHealth) -> Text:
    """Samples lost so far; where some cannot be counted yet, that there are more."""
    if not health.uncounted:
        return _count(health.lost)
    return Text(f"{health.lost} and more" if health.lost else "some", style="yellow")


def _count(number: int) -> Text:
    return Text(str(number), style="yellow" if number else "")


def _now(stream: StreamStatus) -> str:
    if stream.trouble is not None:
        return describe(stream.trouble)
    force = stream.latest.get("force_n")
    return "" if force is None else hand_force(force)
