"""Asking another server without trusting how much it says, or how slowly."""

from __future__ import annotations

import ssl
import time
from collections.abc import Iterator

import httpx2

MOST = 256 * 1024
"""Bytes of an answer. Keys with whole certificate chains take a few tens of thousands."""
IN_ALL = 10.0
"""Seconds from a question to the end of its answer: a byte now and then would else hold a thread for ever."""


class TooMuch(httpx2.TransportError):
    """An answer that is larger, or slower, than any that is in good faith."""


class Bounded(httpx2.HTTPTransport):
    """Sends a question; its answer comes as it was sent, up to MOST bytes within IN_ALL seconds. TooMuch."""

    def __init__(self, trusted: ssl.SSLContext) -> None:
        super().__init__(verify=trusted, trust_env=False)

    def handle_request(self, request: httpx2.Request) -> httpx2.Response:
        """The answer. What is packed is refused: a small packet can be any size once it is unpacked."""
        until = time.monotonic() + IN_ALL
        request.headers["Accept-Encoding"] = "identity"
        answer = super().handle_request(request)
        if answer.headers.get("Content-Encoding", "identity").strip().lower() != "identity":
            answer.close()
            raise TooMuch("an answer that is packed")
        assert isinstance(answer.stream, httpx2.SyncByteStream)
        answer.stream = _UpTo(answer.stream, until)
        return answer


class _UpTo(httpx2.SyncByteStream):
    def __init__(self, stream: httpx2.SyncByteStream, until: float) -> None:
        self._stream, self._until = stream, until

    def __iter__(self) -> Iterator[bytes]:
        read = 0
        for part in self._stream:
            read += len(part)
            if read > MOST or time.monotonic() > self._until:
                raise TooMuch("an answer that is too long, or takes too long")
            yield part

    def close(self) -> None:
        """Let the connection go."""
        self._stream.close()
