"""Papers filed with an order: what they say they are, in revisions, served as attachments."""

from collections.abc import Iterator
from io import BytesIO

import pytest
import time_machine
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from PIL import Image

from tests.factories.orders import NOW, ordered, planner, signed_in
from tests.orders.test_order_pages import do
from works.models import Document, Revision

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def at_now() -> Iterator[None]:
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def desk(client: Client) -> Client:
    return signed_in(client, planner())


def picture() -> bytes:
    drawn = BytesIO()
    Image.new("RGB", (20, 10), "white").save(drawn, "PNG")
    return drawn.getvalue()


PDF = b"%PDF-1.4\n1 0 obj<<>>endobj\ntrailer<<>>\n%%EOF"


@pytest.mark.parametrize(
    ("name", "content", "sentence"),
    [
        ("letter.pdf", b"MZ" + bytes(200), "content begins like .exe"),
        ("letter.pdf", picture(), "content begins like .png"),
        ("photo.png", PDF, "content begins like .pdf"),
        ("photo.png", picture()[:45], "the picture cannot be read"),
        ("run.exe", b"MZ" + bytes(200), "taken are .pdf"),
        ("table.xlsx", PDF, "its name says .xlsx"),
        ("table.xlsx", b"PK\x03\x04" + bytes(60), "it is damaged"),
        ("note.txt", b"\xff\xfe\x00bad", "not text in UTF-8"),
        ("note.csv", b"a,b\x00c", "control signs"),
        ("note.txt", b"<html><script>alert(1)</script>", "begins like .html"),
        ("big.pdf", PDF + bytes(10 * 1024 * 1024), "10 MB is the most"),
    ],
)
def test_an_upload_that_is_not_what_it_says_is_refused(
    desk: Client, name: str, content: bytes, sentence: str
) -> None:
    order = ordered()
    file = SimpleUploadedFile(name, content, "application/pdf")
    answer = do(desk, order, "paper", title="Kept title", kind="letter", file=file)
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert 'value="Kept title"' in answer.content.decode()
    assert not Document.objects.exists()


def test_papers_are_filed_and_served_as_attachments(desk: Client) -> None:
    order = ordered()
    for name, content in (
        ("Brief an uns äöü.pdf", PDF),
        ("photo.png", picture()),
        ("table.csv", "a;ß\n1;2".encode()),
    ):
        file = SimpleUploadedFile(name, content)
        answer = do(desk, order, "paper", title=name, kind="letter", file=file, for_customer="on")
        assert answer.status_code == 302, answer.content.decode()
    paper = Revision.objects.get(document__title="Brief an uns äöü.pdf")
    answer = desk.get(reverse("works:revision", args=[paper.pk]))
    assert answer["Content-Disposition"].startswith("attachment;")
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert answer.content == PDF


def test_the_same_title_again_is_the_next_revision(desk: Client) -> None:
    order = ordered()
    for _ in range(2):
        do(
            desk,
            order,
            "paper",
            title="Arrangement",
            kind="drawing",
            file=SimpleUploadedFile("a.pdf", PDF),
        )
    assert [row.number for row in Revision.objects.order_by("pk")] == ["1", "2"]
    answer = do(
        desk,
        order,
        "paper",
        title="Arrangement",
        kind="drawing",
        for_customer="on",
        file=SimpleUploadedFile("a.pdf", PDF),
    )
    assert answer.status_code == 422
    assert "is not for the customer" in answer.content.decode()
