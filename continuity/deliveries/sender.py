"""Sending what waits: at least once, in order for each order and destination, again and again for days.

A sender takes a message by a lease, conditionally on nobody else having it, so two senders at once send no
doubles. One that is killed lets its leases run out, and the message goes out again with the same id. What is
sent is worked out here, and goes out in threads that touch no database, so that a receiver that hangs keeps
nobody but itself waiting for long.
"""

from __future__ import annotations

import datetime
import json
import logging
import random
import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor, as_completed
from dataclasses import dataclass
from uuid import UUID

from django.conf import settings
from django.db.models import Exists, F, OuterRef, Q
from django.utils import timezone

from continuity.deliveries import mail, push, webhook
from continuity.deliveries.message import html_of, push_of, subject_of, text_of
from continuity.deliveries.models import DeliveryState, Destination, DestinationSort, Outgoing
from continuity.deliveries.outside import Answer, NotReachable, post
from continuity.shop.models import Order

AT_ONCE = 8
"""Messages on their way at the same time."""

LEASE = datetime.timedelta(minutes=3)
"""Longer than any attempt can take."""

FIRST_WAIT = datetime.timedelta(seconds=30)
LONGEST_WAIT = datetime.timedelta(minutes=30)
"""Between two attempts: twice as long each time, up to this. A mail server that comes back after a day has
the orders half an hour later at most."""

GIVEN_UP_AFTER = datetime.timedelta(days=5)
"""As long as mail servers usually try (RFC 5321, section 4.5.4.1: "at least 4-5 days")."""

WITH_TICKET = "The cast ticket is attached."
WITHOUT_TICKET = "The cast ticket could not be made from what is known of it."
PUSH_KEY = "push-key.pem"

logger = logging.getLogger(__name__)


class Gone(Exception):
    """The receiver says that the address is no more: a push subscription that has ended."""


class TryLater(Exception):
    """It was not delivered; the message says why. ``after`` is how long the receiver asks to wait."""

    def __init__(self, why: str, after: datetime.timedelta | None = None) -> None:
        super().__init__(why)
        self.after = after


@dataclass(frozen=True)
class _Taken:
    """A message that this sender holds, and what sends it without a database."""

    id: UUID
    lease: datetime.datetime
    attempts: int
    since: datetime.datetime
    send: Callable[[], None]


def deliver_once(stop: threading.Event | None = None) -> int:
    """Send everything that is due now, and return how many messages were tried."""
    tried = 0
    while not (stop and stop.is_set()):
        taken = _take(AT_ONCE)
        if not taken:
            break
        with ThreadPoolExecutor(len(taken)) as pool:
            sent = {pool.submit(each.send): each for each in taken}
            for done in as_completed(sent):
                _record(sent[done], done.exception())
        tried += len(taken)
    return tried


def wait_after(attempts: int, after: datetime.timedelta | None = None) -> datetime.timedelta:
    """How long to wait after so many attempts (1 or more): between half and all of the doubled time, so that
    those that failed together do not come back together."""
    doubled = min(LONGEST_WAIT, FIRST_WAIT * (1 << min(attempts - 1, 10)))
    waited = doubled * random.uniform(0.5, 1)  # noqa: S311 - nothing secret about it
    return max(waited, min(after or waited, LONGEST_WAIT))


def _take(number: int) -> list[_Taken]:
    now = timezone.now()
    free = Q(leased_until=None) | Q(leased_until__lt=now)
    earlier = Outgoing.objects.filter(
        destination=OuterRef("destination"),
        order=OuterRef("order"),
        sequence__lt=OuterRef("sequence"),
        state=DeliveryState.WAITING,
    )
    due = (
        Outgoing.objects.filter(
            free,
            Q(destination__whose=None) | Q(destination__whose__active=True),
            ~Exists(earlier),
            destination__active=True,
            state=DeliveryState.WAITING,
            next_at__lte=now,
        )
        .select_related("destination", "order__appliance")
        .order_by("next_at", "id")
    )
    taken = []
    for outgoing in due[:number]:
        lease = now + LEASE
        # One that had to wait behind another has its days from now on.
        since = outgoing.since if outgoing.attempts else now
        mine = Outgoing.objects.filter(
            free, id=outgoing.id, state=DeliveryState.WAITING, attempts=outgoing.attempts
        )
        if mine.update(leased_until=lease, attempts=F("attempts") + 1, since=since):
            taken.append(_Taken(outgoing.id, lease, outgoing.attempts + 1, since, _sending(outgoing)))
    return taken


def _record(taken: _Taken, fault: BaseException | None) -> None:
    """Say what became of a message that was held."""
    now = timezone.now()
    if fault is None:
        # Delivered is delivered, also when the lease had run out meanwhile.
        Outgoing.objects.filter(id=taken.id).update(
            state=DeliveryState.DELIVERED, delivered_at=now, leased_until=None, last_error=""
        )
        return
    if isinstance(fault, Gone):
        _end(taken.id, str(fault))
        return
    if not isinstance(fault, (NotReachable, TryLater)):
        logger.error("A message could not be put together or sent.", exc_info=fault)
    why = str(fault) if isinstance(fault, (NotReachable, TryLater)) else "It could not be put together."
    wait = wait_after(taken.attempts, getattr(fault, "after", None))
    over = now + wait > taken.since + GIVEN_UP_AFTER
    Outgoing.objects.filter(id=taken.id, leased_until=taken.lease, state=DeliveryState.WAITING).update(
        state=DeliveryState.GIVEN_UP if over else DeliveryState.WAITING,
        next_at=now + wait,
        leased_until=None,
        last_error=why[:500],
    )


def _end(outgoing_id: UUID, why: str) -> None:
    """The destination is no more: nothing is sent to it from now on."""
    destination = Destination.objects.get(outgoing=outgoing_id)
    Destination.objects.filter(id=destination.id).update(active=False)
    Outgoing.objects.filter(destination=destination, state=DeliveryState.WAITING).update(
        state=DeliveryState.GIVEN_UP, leased_until=None, last_error=why
    )


def _sending(outgoing: Outgoing) -> Callable[[], None]:
    """What sends this message, with everything in it that is read from the database."""
    prepare = {DestinationSort.EMAIL: _mail, DestinationSort.WEBHOOK: _webhook, DestinationSort.PUSH: _push}[
        DestinationSort(outgoing.destination.sort)
    ]
    try:
        return prepare(outgoing)
    except Exception as error:
        fault = error

        def cannot() -> None:
            raise fault

        return cannot


def _mail(outgoing: Outgoing) -> Callable[[], None]:
    server = settings.MAIL_SERVER
    if server is None:
        raise TryLater("No mail server is set up.")
    payload = json.loads(outgoing.payload)
    first = Outgoing.objects.get(destination=outgoing.destination, order=outgoing.order, sequence=1)
    ticket = _ticket(outgoing.order)
    closing = WITH_TICKET if ticket else WITHOUT_TICKET
    message = mail.Mail(
        id=str(outgoing.id),
        thread=str(first.id) if first.id != outgoing.id else None,
        to=outgoing.destination.address,
        subject=subject_of(payload),
        text=text_of(payload, closing),
        html=html_of(payload, closing),
        written_at=outgoing.written_at,
        ticket=ticket,
    )
    return lambda: mail.send(message, server)


def _ticket(order: Order) -> bytes | None:
    """The order's cast ticket as it is now. A ticket that cannot be made does not hold up the order."""
    from continuity.shop.ticket_facts import ticket_pdf

    try:
        return ticket_pdf(order.id)
    except Exception:
        logger.exception("The cast ticket of order %s could not be made.", order.pk)
        return None


def _webhook(outgoing: Outgoing) -> Callable[[], None]:
    destination, body = outgoing.destination, outgoing.payload
    headers = webhook.signed_headers(destination.secret, str(outgoing.id), body, timezone.now())
    return lambda: _posted(destination, body.encode(), headers)


def _push(outgoing: Outgoing) -> Callable[[], None]:
    destination = outgoing.destination
    told = push_of(json.loads(outgoing.payload))
    key = push.own_key(settings.DATA_DIR / PUSH_KEY)
    headers = push.headers_for(destination.address, key, _contact(), str(outgoing.order_id))
    body = push.encrypted(told, destination.public_key, destination.auth_secret)
    return lambda: _posted(destination, body, headers)


def _contact() -> str:
    """Whom a push service can turn to (RFC 8292, section 2.1)."""
    if settings.MAIL_SERVER:
        return f"mailto:{settings.MAIL_SERVER.sender}"
    if settings.APP_ADDRESS.startswith("https://"):
        return settings.APP_ADDRESS
    return "mailto:operator@localhost"


def _posted(destination: Destination, body: bytes, headers: dict[str, str]) -> None:
    answer = post(destination.address, body, headers, private_allowed=settings.WEBHOOKS_TO_PRIVATE_NETWORKS)
    _check(answer, destination.sort == DestinationSort.PUSH)


def _check(answer: Answer, is_push: bool) -> None:
    if 200 <= answer.status < 300:
        return
    if is_push and answer.status in {404, 410}:
        raise Gone("The phone has ended its subscription.")
    after = datetime.timedelta(seconds=answer.retry_after) if answer.retry_after else None
    if 300 <= answer.status < 400:
        raise TryLater(f"The address answered {answer.status}: it has moved, and that is not followed.")
    raise TryLater(f"The address answered {answer.status}.", after)
