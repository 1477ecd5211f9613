"""All phones that were let in, by the session of each."""

from __future__ import annotations

from dataclasses import dataclass, field

from feltload.app.live.phones.phone import Phone

MOST_PHONES = 8


@dataclass
class Phones:
    """Phones of one `feltload live`.

    Attributes
    ----------
    known : dict of str to Phone
        By name.
    """

    known: dict[str, Phone] = field(default_factory=dict)
    _of_token: dict[str, Phone] = field(default_factory=dict)
    _count: int = 0

    def of(self, token: str) -> Phone:
        """The phone of a session; a new one where it is not known yet."""
        if token not in self._of_token:
            if len(self.known) >= MOST_PHONES:
                self._drop_one()
            self._count += 1
            phone = Phone(f"Phone {self._count}")
            self._of_token[token] = self.known[phone.name] = phone
        return self._of_token[token]

    def _drop_one(self) -> None:
        away = [token for token, phone in self._of_token.items() if not phone.sockets]
        token = next(iter(away or self._of_token))
        del self.known[self._of_token.pop(token).name]

    async def close(self) -> None:
        """Pass nothing on any more."""
        for phone in self.known.values():
            await phone.relay.close()
