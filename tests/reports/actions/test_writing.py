"""A certificate's file: written once, whoever and however many write it, and after a killed process too."""

import hashlib
from datetime import timedelta
from io import StringIO

import pytest
from django.core.management import call_command

from labsite.ledger.models import Entry, StoredFile
from reports.actions import writing
from reports.actions.writing import ChangedContentError, write_certificate
from reports.models import Certificate
from reports.rendering.pdf import certificate_pdf
from tests.factories.reports import ISSUED_AT, certificate_scene, file_of, issued


def test_the_file_is_stored_with_its_fingerprint_in_the_ledger(db):
    scene = certificate_scene()
    certificate = issued(scene)
    file = file_of(certificate)
    assert (file.name, file.media_type, bytes(file.content)[:5]) == ("26-0001-C1.pdf", "application/pdf", b"%PDF-")
    entry = Entry.objects.filter(book__name=scene.order.book).latest("sequence")
    assert entry.data["after"]["file sha256"] == hashlib.sha256(bytes(file.content)).hexdigest()


def test_a_second_writing_does_not_replace_the_bytes(db):
    certificate = issued(certificate_scene())
    again = write_certificate(certificate_id=certificate.pk, at=ISSUED_AT + timedelta(days=400))
    unchanged = Certificate.objects.get(pk=certificate.pk)
    assert (again, unchanged.pdf_id) == (False, certificate.pdf_id)


def test_of_two_writers_at_once_the_first_to_finish_stores(db, monkeypatch):
    certificate = issued(certificate_scene(), written=False)

    def overtaken(content, pictures):
        monkeypatch.setattr(writing, "certificate_pdf", certificate_pdf)
        assert write_certificate(certificate_id=certificate.pk, at=ISSUED_AT) is True
        return b"%PDF-late"

    monkeypatch.setattr(writing, "certificate_pdf", overtaken)
    assert write_certificate(certificate_id=certificate.pk, at=ISSUED_AT) is False
    stored = file_of(Certificate.objects.get(pk=certificate.pk))
    assert (bytes(stored.content) == b"%PDF-late", StoredFile.objects.filter(name=stored.name).count()) == (False, 1)


def test_changed_content_is_never_rendered(db):
    certificate = issued(certificate_scene(), written=False)
    certificate.content["client"]["name"] = "Somebody Else"
    certificate.save()
    with pytest.raises(ChangedContentError, match="The content of 26-0001-C1 is not what was issued"):
        write_certificate(certificate_id=certificate.pk, at=ISSUED_AT)


def test_a_killed_writing_is_picked_up_by_the_command(db):
    first = issued(certificate_scene(), written=False)
    second = issued(certificate_scene(serial=2), written=False)
    out = StringIO()
    call_command("write_certificates", stdout=out)
    call_command("write_certificates", stdout=out)
    assert out.getvalue() == "26-0001-C1 written\n26-0002-C1 written\n"
    assert [Certificate.objects.get(pk=one.pk).pdf is None for one in (first, second)] == [False, False]


def test_one_that_cannot_be_written_does_not_keep_the_others_from_it(db):
    broken = issued(certificate_scene(), written=False)
    issued(certificate_scene(serial=2), written=False)
    broken.content["client"]["name"] = "Somebody Else"
    broken.save()
    out, errors = StringIO(), StringIO()
    with pytest.raises(SystemExit):
        call_command("write_certificates", stdout=out, stderr=errors)
    assert (out.getvalue(), errors.getvalue()) == (
        "26-0002-C1 written\n",
        "26-0001-C1 not written: The content of 26-0001-C1 is not what was issued.\n",
    )
