"""The errors of all layers, drawn once; each layer keeps its own branch in its `errors.py`.

FeltloadError
├── InputError                something a person gave: file, key, value
│   ├── QuantityError         "620(3) mm" that cannot be read
│   ├── DescriptionError      acquisition: a stream or rig description
│   ├── CertificateError      acquisition: a certificate that is expired, damaged or of another sensor
│   └── CoachingError         coaching: what was asked cannot be computed from what was measured
│       ├── CapacityError     holds or repetitions that give no capacity curve
│       ├── OverlapError      curves that share no part of the travel
│       ├── ScalingError      a curve whose mean or peak is too near zero to scale by
│       ├── ClientFileError   a client's folder that cannot be read or written
│       └── PainfulTravelError work that would enter a painful range
├── RecordingError            acquisition: a recording that cannot be read or written
├── LinkError                 acquisition: a port or peripheral; carries a `LinkReason`
├── SignalError               signal: streams that cannot be turned into a result
│   ├── ClockError            sample times that cannot be put on the host's timeline
│   ├── MotionError           a rotation that cannot be estimated (no hinge, nothing moved)
│   ├── ProfileError          a profile that cannot be estimated or evaluated
│   └── ResultsError          results that cannot be written or read back
├── CalibrationError          calibration: a calibration or comparison that cannot be made
│   ├── ReadingsError         readings of a load cell that cannot be used; carries the rows
│   │   └── OverloadError     weights above rated capacity; refused before anything is hung
│   ├── AttitudesError        still attitudes of an inertial sensor that do not suffice
│   ├── MachineError          a machine file that cannot be used
│   │   ├── GeometryError     lengths that cannot be assembled, or a position that cannot be reached
│   │   └── DesignError       a redesign or cam that cannot be asked for like this
│   ├── TargetError           a wanted force that cannot be read, or contradicts itself
│   └── AgreementError        a profile and a machine that cannot be compared
├── AppError                  app: raised by the command line itself
│   ├── UsageError            an option or argument that makes no sense
│   ├── DamagedInputError     what cannot be computed may be what a recording lost; carries its damage
│   └── OutputExistsError     a file that would have been overwritten; carries its path
└── EmulatorError             emulator: pseudo terminals that are missing, or that nobody reads
"""

from __future__ import annotations

from typing import Any, Self, TypeVar

_Error = TypeVar("_Error", bound="FeltloadError")


class FeltloadError(Exception):
    """Base of all errors that feltload raises on purpose.

    Parameters
    ----------
    what : str
        What is wrong, in one short sentence.
    where : str, optional
        The file, key, line or port it was found in.
    remedy : str, optional
        What to do about it.

    Notes
    -----
    ``str(error)`` is one line, ``where: what; remedy``, fit to print on standard error. Errors of every
    subclass copy and pickle with all they carry, whatever their constructors ask for, so that a worker
    process can hand them on.
    """

    def __init__(self, what: str, *, where: str | None = None, remedy: str | None = None) -> None:
        super().__init__(what)
        self.what = what
        self.where = where
        self.remedy = remedy

    def __str__(self) -> str:
        text = self.what if self.where is None else f"{self.where}: {self.what}"
        text = text if self.remedy is None else f"{text}; {self.remedy}"
        return " ".join(text.split())

    def __reduce__(self) -> tuple[Any, ...]:
        # An exception's own way calls the constructor with `args` alone, which keyword arguments are not in.
        return _rebuilt, (type(self), self.args, dict(self.__dict__))

    def with_context(self, *, where: str | None = None, what: str | None = None) -> Self:
        """The same error with what only a caller knows, as a new one: ``raise error.with_context(...) from error``.

        Parameters
        ----------
        where : str, optional
            The place; kept out where the error names one already, which is the closer one.
        what : str, optional
            A circumstance, put after what is wrong.
        """
        state = dict(self.__dict__)
        state["where"] = self.where or where
        state["what"] = "; ".join(part for part in (self.what, what) if part)
        return _rebuilt(type(self), (state["what"], *self.args[1:]), state)


def _rebuilt(kind: type[_Error], args: tuple[object, ...], state: dict[str, Any]) -> _Error:
    """An error of a kind with its parts, made without its constructor."""
    error = kind.__new__(kind)
    error.args = args
    error.__dict__.update(state)
    return error


class InputError(FeltloadError):
    """Something a person gave (file, key, value) cannot be used."""


class QuantityError(InputError):
    """A quantity with unit and uncertainty cannot be read."""
