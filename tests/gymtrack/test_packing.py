"""Files on their way through a form, and what becomes of an upload."""

import zlib
from base64 import b64encode

import pytest
from django.conf import settings
from django.core.files.uploadedfile import UploadedFile
from django.core.files.uploadhandler import load_handler
from django.test import RequestFactory
from hypothesis import given
from hypothesis import strategies as st

from gymtrack.lib.packing import packed, unpacked
from gymtrack.lib.uploads import MOST_BYTES, MemoryUploads


@given(st.binary(max_size=2000))
def test_what_was_packed_comes_back(content):
    assert unpacked(packed(content), most_bytes=2000) == content


@given(st.text(max_size=200))
def test_no_text_breaks_the_unpacking(text):
    unpacked(text, most_bytes=100)


@pytest.mark.parametrize("most_bytes", [0, 99_999])
def test_nothing_is_unpacked_beyond_the_limit(most_bytes):
    bomb = packed(b"\0" * 100_000)
    assert len(bomb) < 300
    assert unpacked(bomb, most_bytes=most_bytes) is None
    assert unpacked(bomb, most_bytes=100_000) == b"\0" * 100_000


@pytest.mark.parametrize("tail", [b"more", zlib.compress(b"more")])
def test_what_follows_the_end_is_no_part_of_it(tail):
    assert unpacked(b64encode(zlib.compress(b"name\n") + tail).decode(), most_bytes=100) is None


def test_uploads_are_kept_in_memory_and_no_handler_writes_to_the_disk():
    assert settings.FILE_UPLOAD_HANDLERS == ["gymtrack.lib.uploads.MemoryUploads"]
    file = uploaded(b"x" * MOST_BYTES)
    assert (file.size, file.read()) == (MOST_BYTES, b"x" * MOST_BYTES)
    assert isinstance(load_handler(settings.FILE_UPLOAD_HANDLERS[0]), MemoryUploads)
    assert not hasattr(file, "temporary_file_path")


def test_of_a_file_that_is_too_large_only_the_size_is_known():
    file = uploaded(b"x" * (MOST_BYTES + 70_000))
    assert (file.size, file.read(100)) == (MOST_BYTES + 70_000, b"")


def uploaded(content: bytes) -> "UploadedFile[bytes]":
    """The file as a view finds it."""
    file = RequestFactory().post("/", {"file": _Named(content)}).FILES["file"]
    assert isinstance(file, UploadedFile)
    return file


class _Named:
    """A file as the test client sends it."""

    name = "roster.csv"

    def __init__(self, content: bytes) -> None:
        self._content = content

    def read(self) -> bytes:
        return self._content
