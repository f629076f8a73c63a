"""Invoices and photographs attached to service events."""

import hashlib
import io
import struct

import pytest
from django.core.files.storage import default_storage
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image
from PIL.PngImagePlugin import PngInfo

from maintenance.models import Attachment
from maintenance.services.attachments import attach
from maintenance.services.checks.attachments import as_kept
from maintenance.services.evidence import withdraw
from maintenance.services.refusals import Refused
from maintenance.services.verify_history import verify_history
from tests.factories import ServiceEventFactory
from tests.services.asking import refused

PDF = b"%PDF-1.7\n1 0 obj\n<<>>\nendobj\n"
LIMIT = 100_000


@pytest.fixture(autouse=True)
def files(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path
    return tmp_path


@pytest.fixture
def done(db):
    return ServiceEventFactory()


def photograph(form="JPEG", size=(40, 20), **saved):
    out = io.BytesIO()
    Image.new("RGB", size, (90, 40, 10)).save(out, form, **saved)
    return out.getvalue()


def located():
    """Return a photograph that says where and with what it was taken, and turned by a quarter."""
    exif = Image.Exif()
    exif[0x010F] = "Orrin Optics"  # Make
    exif[0x0112] = 6  # Orientation: turned by 90°
    exif[0x8825] = {1: "N", 2: (54.0, 12.0, 3.0)}  # GPS latitude
    return photograph(exif=exif, comment=b"garage at home")


def test_an_invoice_is_kept_as_it_came(done, when):
    row = attach(service_event=done, name="invoice.pdf", content=PDF, **when)
    assert (row.content, row.media_type, row.size) == (PDF, "application/pdf", len(PDF))
    assert row.sha256 == hashlib.sha256(PDF).hexdigest()


def test_a_photograph_is_kept_upright_without_what_the_camera_wrote_beside_it():
    sent = located()
    assert b"Orrin Optics" in sent and b"garage at home" in sent
    kept = as_kept(sent, limit=LIMIT)
    drawn = Image.open(io.BytesIO(kept.content))
    assert (kept.media_type, drawn.size, len(drawn.getexif())) == ("image/jpeg", (20, 40), 0)
    assert b"Orrin" not in kept.content and b"garage" not in kept.content


@pytest.mark.parametrize(("form", "media_type"), [("PNG", "image/png"), ("WEBP", "image/webp")])
def test_pictures_of_other_forms_lose_their_notes_and_keep_their_form(form, media_type):
    exif = Image.Exif()
    exif[0x010F] = "Orrin Optics"
    notes = PngInfo()
    notes.add_text("Location", "garage at home")
    kept = as_kept(photograph(form, exif=exif, pnginfo=notes), limit=LIMIT)
    assert kept.media_type == media_type
    assert b"Orrin" not in kept.content and b"garage" not in kept.content


def test_what_hides_behind_the_end_of_a_picture_is_not_kept():
    kept = as_kept(photograph() + b"<script>alert(1)</script>", limit=LIMIT)
    assert b"script" not in kept.content


@pytest.mark.parametrize(
    "content",
    [b"", b"<html><script>", b"<svg xmlns='http://www.w3.org/2000/svg'/>", b"GIF89a", b"MZ\x90"],
)
def test_anything_else_is_refused_whatever_it_is_called(done, when, content):
    said = refused(attach, service_event=done, name="invoice.pdf", content=content, **when)
    assert set(said) == {""}
    assert not Attachment.objects.exists()


def test_a_file_above_the_limit_is_refused(done, when, settings):
    settings.ATTACHMENT_LIMIT = 2048
    large = PDF + bytes(2048)
    said = refused(attach, service_event=done, name="invoice.pdf", content=large, **when)
    assert "2 KiB" in said[""]


def test_a_small_file_that_claims_a_huge_picture_is_refused_before_it_is_drawn():
    content = bytearray(photograph("PNG"))
    content[16:24] = struct.pack(">II", 50_000, 50_000)
    with pytest.raises(Refused):
        as_kept(bytes(content), limit=LIMIT)


@given(st.binary(max_size=300), st.sampled_from([b"", b"\xff\xd8\xff\xe0", b"\x89PNG\r\n\x1a\n"]))
def test_no_bytes_at_all_lead_to_anything_but_a_kept_file_or_a_refusal(rest, beginning):
    try:
        assert as_kept(beginning + rest, limit=LIMIT).content
    except Refused as refusal:
        assert [problem.pointer for problem in refusal.problems] == [""]


@given(st.integers(0, 400), st.binary(min_size=1, max_size=8))
def test_a_damaged_photograph_is_kept_drawn_anew_or_refused(place, noise):
    sent = bytearray(photograph())
    sent[place : place + len(noise)] = noise
    try:
        assert as_kept(bytes(sent), limit=LIMIT).media_type.startswith("image/")
    except Refused as refusal:
        assert [problem.pointer for problem in refusal.problems] == [""]


def test_one_file_attached_twice_is_stored_once(done, when, files):
    for name in ("invoice.pdf", "copy.pdf"):
        attach(service_event=done, name=name, content=PDF, **when)
    assert Attachment.objects.count() == 2
    assert len([path for path in files.rglob("*") if path.is_file()]) == 1


def test_a_file_that_broke_in_the_store_is_mended_by_attaching_it_again(done, when, files):
    row = attach(service_event=done, name="invoice.pdf", content=PDF, **when)
    (files / row.path).write_bytes(PDF[:5])
    again = attach(service_event=done, name="invoice.pdf", content=PDF, **when)
    assert (row.is_intact(), again.is_intact()) == (True, True)


def test_the_name_of_a_file_leads_nowhere(done, when):
    row = attach(service_event=done, name="../../etc/passwd", content=PDF, **when)
    assert row.path == f"attachments/{row.sha256[:2]}/{row.sha256}"


def test_an_attachment_is_part_of_the_chain_and_its_file_is_verified(done, when, files):
    row = attach(service_event=done, name="invoice.pdf", content=PDF, **when)
    (files / row.path).write_bytes(PDF.replace(b"1.7", b"1.4"))
    (verified,) = verify_history([done.vehicle])
    found = {(fault.what, fault.kind, fault.record) for fault in verified.faults}
    assert ("changed", "attachment", row.pk) in found


def test_an_attachment_taken_back_stays_with_its_file(done, when):
    row = attach(service_event=done, name="invoice.pdf", content=PDF, **when)
    withdraw(record=row, reason="another car's", **when)
    assert default_storage.exists(row.path)
    assert not Attachment.objects.filter(current=True, withdrawn=False).exists()
