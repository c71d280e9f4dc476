"""What an administrator does: the laboratory's facts, its people and their roles, its places."""

from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from django.core.files import File
from django.db import transaction

from calibration.actions.codes import check_code
from labsite.ledger.actions import keep_file, record_entry
from labsite.ledger.models import Laboratory, Place, Role, RoleHolding, User
from labsite.ledger.pictures import shown_picture
from labsite.ledger.queries import laboratory_or_none
from labsite.ledger.refusals import Refused

BOOK = "laboratory"


@transaction.atomic
def found_laboratory(
    *, name: str, address: str, zone: str, language: str, username: str, full_name: str, password: str, at: datetime
) -> User:
    """Finish the first run: the laboratory and its first administrator."""
    if laboratory_or_none() is not None or User.objects.exists():
        raise Refused("This installation already belongs to a laboratory; sign in as its administrator.")
    _check_zone(zone)
    administrator = User.objects.create_user(username, password, full_name=full_name)
    RoleHolding.objects.create(user=administrator, role=Role.ADMINISTRATOR)
    laboratory = Laboratory.objects.create(pk=1, name=name, address=address, zone=zone, language=language)
    after = _facts(laboratory) | {"administrator": administrator.username}
    record_entry(book=BOOK, act="founded the laboratory", by=administrator, at=at, data={"after": after})
    return administrator


@transaction.atomic
def change_laboratory(
    *, by: User, at: datetime, version: int, mark: "File[bytes] | None" = None, **facts: Any
) -> Laboratory:
    """Change the laboratory's facts; refused when somebody changed them since the form was opened."""
    laboratory = Laboratory.objects.select_for_update().get(pk=1)
    _check_version(laboratory.version, version)
    _check_zone(facts["zone"])
    before = _facts(laboratory)
    for key, value in facts.items():
        setattr(laboratory, key, value)
    if mark is not None:
        picture = shown_picture(mark.read(), name=mark.name or "mark")
        laboratory.accreditation_mark = keep_file(
            name="mark.png" if picture.media_type == "image/png" else "mark.jpg",
            media_type=picture.media_type,
            content=picture.content,
            by=by,
            at=at,
        )
    laboratory.version += 1
    laboratory.save()
    record_entry(
        book=BOOK, act="changed the laboratory", by=by, at=at, data={"before": before, "after": _facts(laboratory)}
    )
    return laboratory


@transaction.atomic
def add_person(
    *, by: User, at: datetime, username: str, full_name: str, email: str, password: str, roles: list[str]
) -> User:
    """Enter a person with roles and a first password."""
    if User.objects.filter(username__iexact=username.strip()).exists():
        raise Refused(f"“{username}” is already the short name of somebody here.", field="username")
    person = User.objects.create_user(username, password, full_name=full_name, email=email)
    RoleHolding.objects.bulk_create(RoleHolding(user=person, role=role) for role in sorted(set(roles)))
    record_entry(book=_book(person), act="entered the person", by=by, at=at, data={"after": _person(person, roles)})
    return person


@transaction.atomic
def change_person(
    *,
    by: User,
    at: datetime,
    person: User,
    full_name: str,
    email: str,
    roles: list[str],
    is_active: bool,
    password: str,
) -> User:
    """Change a person's name, roles, or whether they sign in; at least one administrator stays."""
    person = User.objects.select_for_update().get(pk=person.pk)
    before = _person(person, [holding.role for holding in person.role_holdings.all()])
    others = RoleHolding.objects.of(Role.ADMINISTRATOR).filter(user__is_active=True).exclude(user=person)
    if (Role.ADMINISTRATOR not in roles or not is_active) and not others.exists():
        raise Refused("Somebody must stay administrator; give another person the role first.", field="roles")
    person.full_name, person.email, person.is_active = full_name, email, is_active
    if password:
        person.set_password(password)
    person.save()
    person.role_holdings.exclude(role__in=roles).delete()
    held = {holding.role for holding in person.role_holdings.all()}
    RoleHolding.objects.bulk_create(RoleHolding(user=person, role=role) for role in sorted(set(roles) - held))
    after = _person(person, roles) | ({"password": "set anew"} if password else {})
    record_entry(book=_book(person), act="changed the person", by=by, at=at, data={"before": before, "after": after})
    return person


@transaction.atomic
def add_place(*, by: User, at: datetime, code: str, name: str, kind: str) -> Place:
    """Enter a place."""
    check_code(code, Place.objects.values_list("code", flat=True))
    place = Place.objects.create(code=code, name=name, kind=kind)
    record_entry(book=f"place:{place.code}", act="entered the place", by=by, at=at, data={"after": _place(place)})
    return place


@transaction.atomic
def change_place(*, by: User, at: datetime, place: Place, name: str, in_use: bool) -> Place:
    """Rename a place or take it out of use; its code and kind stay, because records name them."""
    place = Place.objects.select_for_update().get(pk=place.pk)
    before = _place(place)
    place.name, place.in_use = name, in_use
    place.save()
    data = {"before": before, "after": _place(place)}
    record_entry(book=f"place:{place.code}", act="changed the place", by=by, at=at, data=data)
    return place


def _check_zone(zone: str) -> None:
    try:
        ZoneInfo(zone)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        raise Refused(f"“{zone}” is not a time zone; write one like Europe/Berlin.", field="zone") from None


def _check_version(now: int, seen: int) -> None:
    if now != seen:
        raise Refused(
            "Somebody else changed this while you typed. Your typing is kept below; compare, then save again."
        )


def _facts(laboratory: Laboratory) -> dict[str, Any]:
    mark = laboratory.accreditation_mark
    return {
        "name": laboratory.name,
        "address": laboratory.address,
        "zone": laboratory.zone,
        "language": laboratory.language,
        "accreditation number": laboratory.accreditation_number,
        "accreditation body": laboratory.accreditation_body,
        "accreditation mark": mark.sha256 if mark else "",
        "E_n of 1 calls for action": laboratory.e_n_one_is_action,
    }


def _person(person: User, roles: list[str]) -> dict[str, Any]:
    return {
        "short name": person.username,
        "name": person.full_name,
        "mail": person.email,
        "roles": sorted(set(roles)),
        "signs in": person.is_active,
    }


def _place(place: Place) -> dict[str, Any]:
    return {"code": place.code, "name": place.name, "kind": place.kind, "in use": place.in_use}


def _book(person: User) -> str:
    return f"person:{person.username}"
