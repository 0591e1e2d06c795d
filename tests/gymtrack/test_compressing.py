"""What is compressed, and what must not be."""

import gzip
from typing import Any

import pytest

from athletes.models import Membership
from tests.helpers.whole import whole

MARK, STYLE, PICTURE = "/static/img/mark.svg", "/static/css/base.css", "/static/img/floor-192.png"
GZIP = {"Accept-Encoding": "gzip, deflate, br"}


def fetched(address: str, **headers: str) -> tuple[Any, bytes]:
    return whole(address, **{**GZIP, **headers})


def plain(address: str) -> bytes:
    return fetched(address, **{"Accept-Encoding": "identity"})[1]


@pytest.mark.parametrize("address", [STYLE, MARK, "/floor/", "/sw.js", "/floor/manifest.webmanifest"])
def test_what_the_board_loads_goes_compressed_and_is_the_same_within(address: str) -> None:
    answer, body = fetched(address)
    assert (answer.status_code, answer.headers["Content-Encoding"]) == (200, "gzip")
    assert gzip.decompress(body) == plain(address)
    assert "Accept-Encoding" in answer.headers["Vary"]
    assert len(body) < len(plain(address))


def test_who_cannot_unpack_gets_it_plain() -> None:
    answer, _ = fetched(STYLE, **{"Accept-Encoding": "br"})
    assert "Content-Encoding" not in answer.headers


def test_a_picture_is_compressed_already() -> None:
    answer, body = fetched(PICTURE)
    assert "Content-Encoding" not in answer.headers
    assert body.startswith(b"\x89PNG")


@pytest.mark.parametrize("address", [STYLE, "/floor/", "/sw.js"])
def test_the_tag_of_a_compressed_answer_is_known_again(address: str) -> None:
    tag = fetched(address)[0].headers["ETag"]
    assert tag.startswith('W/"')
    answer, body = fetched(address, **{"If-None-Match": tag})
    assert (answer.status_code, body) == (304, b"")
    assert "Content-Encoding" not in answer.headers


def test_a_part_of_a_file_is_left_as_it_is() -> None:
    answer, body = fetched(STYLE, Range="bytes=0-9")
    assert (answer.status_code, body) == (206, plain(STYLE)[:10])
    assert "Content-Encoding" not in answer.headers


def test_asking_for_the_head_alone_brings_no_body() -> None:
    answer, body = whole(STYLE, method="head", **GZIP)
    assert body == b""
    assert "Content-Encoding" not in answer.headers


@pytest.mark.parametrize("address", ["/account/sign-in/", "/api/v1/schema/", "/today/"])
def test_pages_with_secrets_of_somebody_are_never_compressed(address: str, client_of: Any, coach: Membership) -> None:
    answer = client_of(coach).get(address, headers=GZIP)
    assert "Content-Encoding" not in answer.headers
