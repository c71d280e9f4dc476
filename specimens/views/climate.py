"""Climate records: bringing a recorder's file in, answering what it leaves open, looking at what was understood."""

from datetime import datetime

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone

from labsite.ledger.attempts import attempt
from labsite.ledger.downloads import file_response
from specimens.actions import climate as actions
from specimens.actions import climate_uploads as uploads
from specimens.forms.conditioning import AnswersForm, ClimateFileForm, WithdrawalForm
from specimens.queries import chambers
from specimens.queries import climate as queries
from specimens.rendering.chamber_words import record_drawing
from specimens.rendering.climate_moisture import moisture_sentence
from specimens.rendering.climate_understood import oddity_sentences, understood_rows


def attach(request: HttpRequest, code: str) -> HttpResponse:
    """Bring a recorder's file in: it becomes a record, or its open questions are asked."""
    place, at = get_object_or_404(chambers.chambers(), code=code), timezone.now()
    sent = (request.POST, request.FILES) if request.method == "POST" else ()
    form = ClimateFileForm(*sent, at=at)
    if request.method == "POST" and form.is_valid():
        file = form.cleaned_data["file"]
        found = attempt(
            form,
            uploads.bring_in_climate_file,
            by=request.user,
            at=at,
            chamber=place,
            recorder=form.cleaned_data["recorder"],
            name=file.name,
            content=file.read(),
        )
        if found is not None:
            return _lead_to(request, found, at)
    return render(
        request,
        "specimens/climate_attach.html",
        {"form": form, "chamber": place},
        status=422 if form.errors else 200,
    )


def _lead_to(request: HttpRequest, found: uploads.BroughtIn, at: datetime) -> HttpResponse:
    """To the record, saying whether it is new; or to the questions."""
    if found.record is None:
        return redirect("specimens:climate_upload", found.upload.pk if found.upload else 0)
    words = f"is attached to {found.record.chamber.code}; see below how it was read"
    if found.record.attached_at != at:
        words = f"was attached to {found.record.chamber.code} before; here it is"
    messages.success(request, f"{found.record.file.name} {words}.")
    return redirect("specimens:climate_record", found.record.pk)


def answer(request: HttpRequest, pk: int) -> HttpResponse:
    """Answer what a kept file leaves open."""
    upload, at = get_object_or_404(queries.all_uploads(), pk=pk), timezone.now()
    questions = queries.questions_of(upload)
    form = AnswersForm(request.POST if request.method == "POST" else None, questions=questions, answers=upload.answers)
    if request.method == "POST" and form.is_valid():
        found = attempt(
            form, uploads.answer_climate_questions, by=request.user, at=at, upload=upload, answers=form.answers()
        )
        if found is not None:
            return _lead_to(request, found, at)
    sentence = str(upload.open.get("sentence", ""))
    context = {
        "form": form,
        "upload": upload,
        "note": "" if any(question.text in sentence for question in questions) else sentence,
        "understood": understood_rows(upload.open.get("understood", {}), upload.answers),
        "columns": upload.open.get("understood", {}).get("columns", []),
        "preamble": upload.open.get("understood", {}).get("preamble", []),
    }
    return render(request, "specimens/climate_upload.html", context, status=422 if form.errors else 200)


def set_aside(request: HttpRequest, pk: int) -> HttpResponse:
    """Do without a file whose questions nobody can answer."""
    upload = get_object_or_404(queries.all_uploads(), pk=pk)
    if request.method == "POST" and upload.closed_at is None:
        form = forms.Form(request.POST)
        if attempt(form, uploads.set_upload_aside, by=request.user, at=timezone.now(), upload=upload) is not None:
            messages.success(request, f"{upload.file.name} is set aside.")
    return redirect("specimens:chamber", upload.chamber.code)


def record(request: HttpRequest, pk: int) -> HttpResponse:
    """One record: what was understood, its drawing, its file."""
    found = get_object_or_404(queries.climate_records(), pk=pk)
    data = found.understood
    context = {
        "record": found,
        "understood": understood_rows(data, found.answers),
        "oddities": oddity_sentences(data),
        "columns": data.get("columns", []),
        "used": (data.get("temperature_column"), data.get("humidity_column")),
        "preamble": data.get("preamble", []),
        "drawing": record_drawing(found),
        "moisture": moisture_sentence(queries.decoded_series([found])[found.series_sha256]),
    }
    return render(request, "specimens/climate_record.html", context)


def download(request: HttpRequest, pk: int) -> HttpResponse:
    """The file as it came."""
    return file_response(get_object_or_404(queries.record_files(), pk=pk).file, download=True)


def download_upload(request: HttpRequest, pk: int) -> HttpResponse:
    """A kept file as it came, while its questions are open."""
    return file_response(get_object_or_404(queries.all_uploads(), pk=pk).file, download=True)


def withdraw(request: HttpRequest, pk: int) -> HttpResponse:
    """Let a record no longer count, with a reason."""
    found = get_object_or_404(queries.climate_records(), pk=pk)
    form = WithdrawalForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        done = attempt(
            form,
            actions.withdraw_climate_record,
            by=request.user,
            at=timezone.now(),
            record=found,
            **form.cleaned_data,
        )
        if done is not None:
            messages.success(request, f"The record of {found.file.name} no longer counts.")
            return redirect("specimens:climate_record", pk)
    context = {"form": form, "record": found}
    return render(request, "specimens/climate_withdraw.html", context, status=422 if form.errors else 200)
