"""Accounts, and who has which role on a production."""

from __future__ import annotations

from uuid import UUID

from django.contrib.auth.models import User
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.db import transaction

from continuity.people.documents import CrewDocument, Role
from continuity.people.models import Membership
from continuity.schedule.documents import ProductionDocument
from continuity.schedule.models import Production
from continuity.schedule.records import production_columns
from continuity.sync.models import Record
from continuity.sync.refusal import Code, Refusal
from continuity.sync.services import write_server_record


def create_production(*, production_id: UUID, document: ProductionDocument, head: User) -> Membership:
    """Make a production; its maker becomes its department head. Raises `Refusal` (record_exists)."""
    with transaction.atomic():
        if (
            Production.objects.filter(id=production_id).exists()
            or Record.objects.filter(id=production_id).exists()
        ):
            raise Refusal(Code.record_exists, "This production exists already.", field="id")
        Production.objects.create(id=production_id, **production_columns(document))
        membership = Membership.objects.create(
            production_id=production_id, user=head, role=Role.DEPARTMENT_HEAD
        )
        write_server_record(
            production_id=production_id,
            by=membership,
            kind="production",
            record=production_id,
            document=document,
        )
        _tell(membership, by=membership)
    return membership


def add_crew_member(*, by: Membership, username: str, name: str, password: str, role: Role) -> Membership:
    """Give a person an account and a role. Raises `Refusal`: username_taken, weak_password.

    An account that exists already is never given a role by its name alone: who may add crew on one
    production would learn of, or reach, people of another.
    """
    with transaction.atomic():
        if User.objects.filter(username__iexact=username).exists():
            raise Refusal(Code.username_taken, "This user name is taken; choose another.", field="username")
        user = User(username=username, first_name=name)
        try:
            validate_password(password, user)
        except ValidationError as error:
            raise Refusal(Code.weak_password, " ".join(error.messages), field="password") from None
        user.set_password(password)
        user.save()
        membership = Membership.objects.create(production_id=by.production_id, user=user, role=role)
        _tell(membership, by=by)
    return membership


def change_crew_member(
    *,
    by: Membership,
    crew_id: UUID,
    name: str | None = None,
    role: Role | None = None,
    active: bool | None = None,
) -> Membership:
    """Change a name or a role, or end or renew a person's place. Raises `Refusal`: not_found, not_allowed,
    last_department_head.

    The name is the account's: of one that is on another production too it is not changed from here.
    """
    with transaction.atomic():
        Production.objects.select_for_update().get(id=by.production_id)
        member = Membership.objects.filter(production_id=by.production_id, id=crew_id).first()
        if member is None:
            raise Refusal(Code.not_found, "There is nobody with this id in the crew.")
        if name is not None:
            if Membership.objects.filter(user=member.user_id).exclude(id=member.id).exists():
                raise Refusal(
                    Code.not_allowed,
                    "This account is on another production too: whoever runs the server changes its name.",
                    field="name",
                )
            member.user.first_name = name
            member.user.save(update_fields=["first_name"])
        if role is not None:
            member.role = role
        if active is not None:
            member.active = active
        member.save()
        heads = Membership.objects.filter(
            production_id=by.production_id, role=Role.DEPARTMENT_HEAD, active=True
        )
        if not heads.exists():
            raise Refusal(Code.last_department_head, "A production keeps at least one department head.")
        _tell(member, by=by)
    return member


def _tell(member: Membership, *, by: Membership) -> None:
    write_server_record(
        production_id=member.production_id,
        by=by,
        kind="crew",
        record=member.id,
        document=CrewDocument(
            name=member.user.first_name or member.user.username,
            username=member.user.username,
            role=Role(member.role),
            active=member.active,
        ),
    )
