"""Errors that every layer shares.

FeltloadError
└── InputError            a file, key or value that a person gave
    └── QuantityError     "620(3) mm" that cannot be read
"""

from __future__ import annotations


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
    ``str(error)`` is one line, ``where: what; remedy``, fit to print on standard error.
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


class InputError(FeltloadError):
    """Something a person gave (file, key, value) cannot be used."""


class QuantityError(InputError):
    """A quantity with unit and uncertainty cannot be read."""
