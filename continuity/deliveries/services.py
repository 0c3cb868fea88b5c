"""Setting up where orders are sent to, and trying again what could not be delivered."""

from __future__ import annotations

from uuid import UUID

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.validators import validate_email
from django.db import IntegrityError, transaction
from django.utils import timezone

from continuity.deliveries import push, webhook
from continuity.deliveries.models import (
    CalendarAddress,
    DeliveryState,
    Destination,
    DestinationSort,
    Outgoing,
    new_calendar_secret,
)
from continuity.deliveries.outside import NotReachable, PrivateAddress, check, target_of
from continuity.people.models import Membership
from continuity.sync.refusal import Code, Refusal

REMOVED = "The destination was removed."


def add_destination(
    *, production_id: UUID, sort: DestinationSort, address: str, secret: str | None = None
) -> Destination:
    """A mail address or a webhook that is told of every order from now on. A webhook gets a secret unless it
    brings one. Raises `Refusal` (not_an_address, private_address, not_a_request, address_taken).
    """
    if sort is DestinationSort.PUSH:
        raise Refusal(Code.not_a_request, "A phone subscribes for itself.", field="sort")
    if sort is DestinationSort.EMAIL:
        _check_mail_address(address)
        if secret is not None:
            raise Refusal(Code.not_a_request, "A mail address has no secret.", field="secret")
    else:
        _check_address(address)
        if secret is not None and not webhook.is_secret(secret):
            raise Refusal(
                Code.not_a_request,
                "secret is not whsec_ and the base64 of 24 to 64 bytes.",
                field="secret",
            )
        secret = secret or webhook.new_secret()
    try:
        with transaction.atomic():
            return Destination.objects.create(
                production_id=production_id, sort=sort, address=address, secret=secret or ""
            )
    except IntegrityError:
        raise Refusal(Code.address_taken, "Orders are sent there already.", field="address") from None


def remove_destination(*, production_id: UUID, destination_id: UUID) -> None:
    """Raises `Refusal` (not_found)."""
    found = Destination.objects.filter(production_id=production_id, id=destination_id, active=True)
    with transaction.atomic():
        if not found.update(active=False):
            raise Refusal(Code.not_found, "There is no such destination.")
        _let_go(destination_id)


def subscribe(*, member: Membership, endpoint: str, public_key: str, auth_secret: str) -> Destination:
    """Have a phone told by push. Subscribing again with the same endpoint renews its keys; an endpoint that
    was somebody else's on this production is this member's from now on, as the phone is. Raises `Refusal`.
    """
    _check_address(endpoint, field="endpoint")
    if not push.are_keys(public_key, auth_secret):
        raise Refusal(Code.not_a_request, "keys are not those of a push subscription.", field="keys")
    destination, _ = Destination.objects.update_or_create(
        production_id=member.production_id,
        sort=DestinationSort.PUSH,
        address=endpoint,
        active=True,
        defaults={"whose": member, "public_key": public_key, "auth_secret": auth_secret},
    )
    return destination


def unsubscribe(*, member: Membership, endpoint: str) -> None:
    """Nothing happens when this endpoint is not one of the member's."""
    with transaction.atomic():
        for found in Destination.objects.filter(
            whose=member, sort=DestinationSort.PUSH, address=endpoint, active=True
        ):
            Destination.objects.filter(id=found.id).update(active=False)
            _let_go(found.id)


def try_again(*, production_id: UUID, outgoing_id: UUID) -> Outgoing:
    """Have a message tried at once, and for as long as a new one. Raises `Refusal` (not_found) for one that
    is delivered, or whose destination was removed."""
    now = timezone.now()
    found = Outgoing.objects.filter(
        id=outgoing_id, destination__production_id=production_id, destination__active=True
    ).exclude(state=DeliveryState.DELIVERED)
    if not found.update(state=DeliveryState.WAITING, since=now, next_at=now, attempts=0):
        raise Refusal(Code.not_found, "There is no such message that is not delivered.")
    return Outgoing.objects.select_related("destination", "order__appliance").get(id=outgoing_id)


def calendar_secret(*, production_id: UUID) -> str:
    """The secret of the production's calendar, made when it is first asked for."""
    return CalendarAddress.objects.get_or_create(production_id=production_id)[0].secret


def renew_calendar_secret(*, production_id: UUID) -> str:
    """A new secret; whoever has the old address reads nothing any more."""
    secret = new_calendar_secret()
    CalendarAddress.objects.update_or_create(production_id=production_id, defaults={"secret": secret})
    return secret


def _let_go(destination_id: UUID) -> None:
    Outgoing.objects.filter(destination=destination_id, state=DeliveryState.WAITING).update(
        state=DeliveryState.GIVEN_UP, leased_until=None, last_error=REMOVED
    )


def _check_mail_address(address: str) -> None:
    try:
        validate_email(address)
    except ValidationError:
        raise Refusal(Code.not_an_address, "This is not a mail address.", field="address") from None


def _check_address(address: str, field: str = "address") -> None:
    """It is looked at again each time something is sent. A name that is not known at this moment is let in:
    this machine may be without a network while the destination is set up."""
    allowed = settings.WEBHOOKS_TO_PRIVATE_NETWORKS
    try:
        target = target_of(address, plain_http=allowed)
    except NotReachable as fault:
        raise Refusal(Code.not_an_address, str(fault), field=field) from None
    try:
        check(target, private_allowed=allowed)
    except PrivateAddress as fault:
        raise Refusal(Code.private_address, str(fault), field=field) from None
    except NotReachable:
        pass
