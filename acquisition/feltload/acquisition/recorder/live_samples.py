"""Samples of a stream as they come, in SI: the streaming twin of `Recording.stream`."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import pandas as pd

from feltload.acquisition.certificates.certificate import AnyCertificate
from feltload.acquisition.recording.streams import calibrated
from feltload.acquisition.wire.decode import decode
from feltload.acquisition.wire.descriptions.schema import StreamDescription
from feltload.acquisition.wire.framing.whole import WholeMessages

__all__ = ["LiveSamples"]


class LiveSamples:
    """Decodes one stream piece by piece.

    Parameters
    ----------
    description : StreamDescription
    siblings : sequence of StreamDescription
        Other streams whose frames come over the same link.
    certificate : ForceCertificate or InertialCertificate, optional
    origin_ns : int
        Host time from which ``host_s`` counts.

    Notes
    -----
    Every piece is decoded together with the last frame before it, so that counters are followed from piece to piece:
    in a piece, ``device_s`` and ``seq`` count on from a first row that is not handed out. What was lost at a seam of
    two pieces is for `StreamHealth` to count.
    """

    def __init__(
        self,
        description: StreamDescription,
        siblings: Sequence[StreamDescription] = (),
        certificate: AnyCertificate | None = None,
        *,
        origin_ns: int = 0,
    ) -> None:
        self._description, self._siblings = description, tuple(siblings)
        self._certificate, self._origin_ns = certificate, origin_ns
        self._whole = WholeMessages(description, self._siblings)
        self._overlap: list[tuple[int, bytes]] = []
        self._device_s = 0.0

    def push(self, messages: Iterable[tuple[int, bytes]]) -> pd.DataFrame:
        """Take what arrived; empty bytes say that the link was opened again.

        Returns
        -------
        DataFrame
            The samples that are whole by now, columns as in `Decoded.frame`. ``device_s`` counts from the first
            sample of all, without the wraps of the sensor's clock; after a restart of the board it goes on.

        Raises
        ------
        CertificateError
            Readings in counts without a certificate, or a certificate that does not apply.
        """
        whole = self._whole.take(list(messages))
        both = self._decoded(self._overlap + whole)
        if not whole:
            return both.iloc[:0]
        before = len(self._decoded(self._overlap)) if self._overlap else 0
        device = both["device_s"].to_numpy(float)
        if len(both) > before:
            # Where the overlap is gone or the clock leapt, it goes on from where it was.
            first = float(device[before - 1]) if before else float(device[0])
            both["device_s"] = device - first + self._device_s
            self._device_s = float(both["device_s"].iloc[-1])
        self._overlap = self._whole.last_frame(whole)
        fresh = both.iloc[before:].reset_index(drop=True)
        return calibrated(fresh, self._description, self._certificate)

    def _decoded(self, messages: list[tuple[int, bytes]]) -> pd.DataFrame:
        return decode(messages, self._description, origin_ns=self._origin_ns, siblings=self._siblings).frame
