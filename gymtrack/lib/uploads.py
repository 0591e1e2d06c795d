"""What becomes of an uploaded file: it stays in memory while it is read, up to a limit, never on disk."""

from __future__ import annotations

from io import BytesIO
from typing import Any

from django.core.files.uploadedfile import InMemoryUploadedFile
from django.core.files.uploadhandler import FileUploadHandler

MOST_BYTES = 10 * 1024 * 1024


class MemoryUploads(FileUploadHandler):
    """Keeps a file of up to MOST_BYTES. Of a larger one only the true size is told: its form says that in words."""

    def new_file(self, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401 (Django's signature)
        """Begin a file."""
        super().new_file(*args, **kwargs)
        self._kept = BytesIO()

    def receive_data_chunk(self, raw_data: bytes, start: int) -> None:
        """Keep a piece, and nothing at all of a file that is too large."""
        if start + len(raw_data) <= MOST_BYTES:
            self._kept.write(raw_data)
        else:
            self._kept = BytesIO()

    def file_complete(self, file_size: int) -> InMemoryUploadedFile:
        """End the file."""
        self._kept.seek(0)
        return InMemoryUploadedFile(
            self._kept,
            self.field_name,
            self.file_name or "",
            self.content_type or "",
            file_size,
            self.charset,
            self.content_type_extra,
        )
