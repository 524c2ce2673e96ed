"""Files in a request: nowhere, but on a page that asks for one; and there one, up to a size.

A file that is too large is read to its end and thrown away as it comes, so that the visitor gets a page that says so
and not a broken line; memory never holds more than the page takes.
"""

from __future__ import annotations

from typing import Any

from django.core.exceptions import TooManyFilesSent
from django.core.files.uploadedfile import InMemoryUploadedFile
from django.core.files.uploadhandler import FileUploadHandler, StopUpload

READ_AT_MOST = 1_000_000_000


class NoFiles(FileUploadHandler):
    """What every page has unless it asks for a file."""

    def new_file(self, *args: Any, **kwargs: Any) -> None:
        raise TooManyFilesSent("This page takes no files.")

    def receive_data_chunk(self, raw_data: bytes, start: int) -> bytes | None:
        return raw_data

    def file_complete(self, file_size: int) -> None:
        return None


class OneFile(FileUploadHandler):
    """One file in memory, up to `largest` bytes. `too_large` is how large a larger one was; its bytes are gone."""

    def __init__(self, request: Any, largest: int) -> None:
        super().__init__(request)
        self.largest = largest
        self.parts: list[bytes] = []
        self.size = 0
        self.too_large = 0

    def new_file(self, *args: Any, **kwargs: Any) -> None:
        super().new_file(*args, **kwargs)
        self.parts, self.size = [], 0

    def receive_data_chunk(self, raw_data: bytes, start: int) -> bytes | None:
        self.size += len(raw_data)
        if self.size > READ_AT_MOST:
            raise StopUpload(connection_reset=True)
        if self.size > self.largest:
            self.parts, self.too_large = [], self.size
        else:
            self.parts.append(raw_data)
        return None

    def file_complete(self, file_size: int) -> Any:
        if self.too_large:
            return None
        import io

        content = io.BytesIO(b"".join(self.parts))
        return InMemoryUploadedFile(
            content,
            self.field_name,
            self.file_name,
            self.content_type,
            file_size,
            self.charset,
            self.content_type_extra,
        )
