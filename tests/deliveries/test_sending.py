"""A real mail server and a real HTTP receiver that fail, hang, answer 500 and recover: every order arrives,
in order for each order, and doubles carry the same id."""

from __future__ import annotations

import datetime
import io
import itertools
import json

import pytest
from django.core.management import call_command
from django.utils import timezone
from pypdf import PdfReader

from continuity.deliveries import outside, sender
from continuity.deliveries.models import DeliveryState, Destination, Outgoing
from continuity.deliveries.sender import GIVEN_UP_AFTER, LONGEST_WAIT, deliver_once, wait_after
from continuity.deliveries.webhook import verified
from tests.deliveries.receivers import HttpReceiver, MailReceiver
from tests.deliveries.sending import (
    assert_doubles_carry_the_same_id,
    pass_time,
    raise_order,
    send_until_done,
    sequences,
    step,
    told,
    waiting,
)
from tests.shop.season import Season


def test_a_webhook_gets_it_signed(season: Season, receiver: HttpReceiver) -> None:
    destination = told(season, "webhook", receiver.url)
    order = raise_order(season)
    assert deliver_once() == 1
    (request,) = receiver.taken
    message = verified(destination["secret"], request.body, request.headers)
    assert (message["type"], message["data"]["order"]) == ("order.asked_for", order)
    assert (request.path, request.headers["content-type"]) == ("/orders", "application/json")
    (outgoing,) = Outgoing.objects.all()
    assert (outgoing.state, request.headers["webhook-id"]) == (DeliveryState.DELIVERED, str(outgoing.id))
    assert outgoing.delivered_at is not None
    assert deliver_once() == 0


def test_everything_that_can_go_wrong_and_then_all_of_it_arrives(
    season: Season, receiver: HttpReceiver, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(outside, "CONNECT_SECONDS", 5.0)
    told(season, "webhook", receiver.url)
    orders = [raise_order(season, copies=copies) for copies in (2, 3, 4)]
    receiver.once = [500, "drop", "hang", 503, 302, 429, 404, "drop", 500, 408, 400]
    for order in orders:
        for state in ("taken_on", "casting", "sent"):
            step(season, order, state=state)
    send_until_done()
    assert sequences(receiver.taken) == {order: [1, 2, 3, 4] for order in orders}
    assert len(receiver.received) > len(receiver.taken)
    assert_doubles_carry_the_same_id(receiver)


def test_a_later_message_waits_for_the_earlier(season: Season, receiver: HttpReceiver) -> None:
    told(season, "webhook", receiver.url)
    orders = {raise_order(season), raise_order(season)}
    receiver.once = [500]
    deliver_once()
    (free,) = sequences(receiver.taken)
    (stuck,) = orders - {free}
    step(season, stuck, state="taken_on")
    step(season, free, state="taken_on")
    deliver_once()
    assert sequences(receiver.taken) == {free: [1, 2]}
    pass_time(minutes=1)
    deliver_once()
    assert sequences(receiver.taken)[stuck] == [1, 2]


def test_a_hanging_receiver_keeps_nobody_else_waiting(
    season: Season, receiver: HttpReceiver, mails: MailReceiver, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(outside, "CONNECT_SECONDS", 0.3)
    told(season, "webhook", receiver.url)
    told(season, "email", "shop@workshop.example")
    receiver.behaviour = "hang"
    raise_order(season)
    deliver_once()
    assert len(mails.taken) == 1
    (left,) = waiting()
    assert (left.destination.sort, left.last_error) == ("webhook", "127.0.0.1 did not answer in time.")


def test_a_receiver_that_drips_is_cut_off(receiver: HttpReceiver) -> None:
    """It says a byte now and then, so no single wait is long; the whole exchange is."""
    receiver.behaviour = "hang"
    with pytest.raises(outside.NotReachable):
        outside.post(receiver.url, b"{}", {}, private_allowed=True, whole_seconds=0.3)
    assert len(receiver.received) == 1


def test_a_redirect_is_not_followed(season: Season, receiver: HttpReceiver) -> None:
    receiver.behaviour = 307
    receiver.headers = {"Location": receiver.url + "/elsewhere"}
    told(season, "webhook", receiver.url)
    raise_order(season)
    deliver_once()
    assert [request.path for request in receiver.received] == ["/orders"]
    assert "307" in waiting()[0].last_error


def test_a_mail_server_that_is_down_for_a_day_loses_nothing(season: Season, mails: MailReceiver) -> None:
    told(season, "email", "shop@workshop.example")
    mails.stop()
    orders = [raise_order(season, copies=copies) for copies in (2, 3)]
    deliver_once()
    for _ in range(48):
        pass_time(minutes=30)
        deliver_once()
    for order in orders:
        step(season, order, state="taken_on")
    assert len(waiting()) == 4
    assert {each.last_error for each in waiting() if each.attempts} == {
        "The mail server could not be reached: nothing answers there."
    }
    mails.start()
    pass_time(minutes=30)
    deliver_once()
    assert waiting() == []
    subjects = [message["Subject"] for message in mails.taken]
    for copies in (2, 3):
        assert [subject.split(":")[0] for subject in subjects if f" {copies} mid" in subject] == [
            "Asked for", "Taken on",
        ]  # fmt: skip


def test_a_mail_server_that_says_no_for_now(season: Season, mails: MailReceiver) -> None:
    told(season, "email", "shop@workshop.example")
    raise_order(season)
    for refusal in ("451 Try again later", "554 No"):
        mails.refusal = refusal
        deliver_once()
        assert refusal.split()[0] in waiting()[0].last_error
        pass_time(minutes=31)
    mails.refusal = None
    deliver_once()
    assert len(mails.taken) == 1


def test_the_mail_itself(season: Season, mails: MailReceiver) -> None:
    told(season, "email", "shop@workshop.example")
    order = raise_order(season, why="Because <b>rain</b>", latest_start=season.date(4))
    step(season, order, state="taken_on")
    deliver_once()
    first, second = mails.taken
    ids = Outgoing.objects.order_by("sequence").values_list("id", flat=True)
    assert [message["Message-ID"] for message in (first, second)] == [
        f"<{each}@production.example>" for each in ids
    ]
    assert (first["In-Reply-To"], second["In-Reply-To"]) == (None, first["Message-ID"])
    assert second["References"] == first["Message-ID"]
    assert (first["From"], first["To"]) == ("orders@production.example", "shop@workshop.example")
    day = season.today + datetime.timedelta(days=4)
    assert first["Subject"].strip() == (
        f"Asked for: 4 mid copies of Brow for Ana, start by {day:%A} {day.day} {day:%B %Y}"
    )
    plain, html = first.get_body(("plain",)), first.get_body(("html",))
    assert plain is not None
    assert html is not None
    text = plain.get_content()
    for words in ("Good copies wanted: 4", "Performer: Ana", "Why: Because <b>rain</b>", "Grade: Mid"):
        assert words in text
    assert f"https://trailer.example/#/shop/{order}" in text
    assert "Because &lt;b&gt;rain&lt;/b&gt;" in html.get_content()
    (ticket,) = first.iter_attachments()
    assert (ticket.get_filename(), ticket.get_content_type()) == ("cast-ticket.pdf", "application/pdf")
    page = PdfReader(io.BytesIO(ticket.get_content())).pages[0].extract_text()
    assert "Brow" in page


def test_a_name_of_two_lines_adds_no_header(season: Season, mails: MailReceiver) -> None:
    head = season.show.head
    appliance = head.record(season.show.appliance)
    name = {"name": "Brow\r\nBcc: everybody@example.org"}
    head.send_ok(head.entry("appliance", name, appliance["id"], appliance["revision"], seen=appliance["seq"]))
    told(season, "email", "shop@workshop.example")
    raise_order(season)
    deliver_once()
    (message,) = mails.taken
    assert message["Bcc"] is None
    assert "Brow Bcc: everybody@example.org" in message["Subject"]


def test_without_a_mail_server_it_waits(season: Season) -> None:
    told(season, "email", "shop@workshop.example")
    raise_order(season)
    deliver_once()
    assert waiting()[0].last_error == "No mail server is set up."


def test_given_up_after_days_shown_and_tried_again(season: Season, receiver: HttpReceiver) -> None:
    told(season, "webhook", receiver.url)
    receiver.behaviour = 500
    order = raise_order(season)
    shop = season.show.shop
    assert shop.account.get(shop.path("deliveries")).body["deliveries"] == []
    deliver_once()
    step(season, order, state="taken_on")
    (listed,) = shop.account.get(shop.path("deliveries")).body["deliveries"]
    assert (listed["state"], listed["last_error"]) == ("waiting", "The address answered 500.")
    pass_time(days=GIVEN_UP_AFTER.days - 0.1)
    deliver_once()
    assert [each.sequence for each in waiting()] == [1, 2]
    pass_time(days=0.2)
    deliver_once()
    # The first is given up, so the second has its turn, and days of its own.
    first, second = Outgoing.objects.order_by("sequence")
    assert (first.state, second.attempts) == (DeliveryState.GIVEN_UP, 1)
    listed = shop.account.get(shop.path("deliveries")).body["deliveries"]
    assert [(each["state"], each["words"].split(":")[0]) for each in listed] == [
        ("given_up", "Asked for"), ("waiting", "Taken on"),
    ]  # fmt: skip
    receiver.behaviour = 200
    for each in (second, first):
        answer = shop.account.post(shop.path(f"deliveries/{each.id}/retry"), {})
        assert (answer.status, answer.body["delivery"]["state"]) == (200, "waiting")
    deliver_once()
    assert sequences(receiver.taken) == {order: [1, 2]}
    assert_doubles_carry_the_same_id(receiver)
    assert shop.account.get(shop.path("deliveries")).body["deliveries"] == []


def test_a_receiver_may_ask_to_be_left_alone(season: Season, receiver: HttpReceiver) -> None:
    told(season, "webhook", receiver.url)
    receiver.once, receiver.headers = [503], {"Retry-After": "900"}
    raise_order(season)
    before = timezone.now()
    deliver_once()
    assert waiting()[0].next_at >= before + datetime.timedelta(seconds=900)


def test_the_wait_grows_up_to_a_bound_and_is_spread() -> None:
    waits = [[wait_after(attempts) for _ in range(200)] for attempts in (1, 2, 3, 30, 3000)]
    for shorter, longer in itertools.pairwise(waits[:3]):
        assert max(shorter) <= min(longer) * 1.1
    assert all(LONGEST_WAIT / 2 <= wait <= LONGEST_WAIT for wait in (*waits[3], *waits[4]))
    assert len(set(waits[0])) > 100
    assert wait_after(1, datetime.timedelta(days=9)) <= LONGEST_WAIT


def test_what_is_held_by_another_sender_is_left_to_it(season: Season, receiver: HttpReceiver) -> None:
    told(season, "webhook", receiver.url)
    raise_order(season)
    later = timezone.now() + sender.LEASE
    Outgoing.objects.update(leased_until=later, attempts=1)
    assert deliver_once() == 0
    pass_time(seconds=sender.LEASE.total_seconds() + 1)
    assert deliver_once() == 1
    assert len(receiver.taken) == 1


def test_a_crew_member_who_has_gone_hears_nothing(season: Season) -> None:
    from continuity.deliveries.models import DestinationSort

    shop = season.show.shop
    Destination.objects.create(
        production_id=season.show.production,
        sort=DestinationSort.PUSH,
        address="https://push.example/x",
        whose_id=shop.crew,
    )
    head = season.show.head
    head.account.patch(head.path(f"crew/{shop.crew}"), {"active": False})
    raise_order(season)
    assert Outgoing.objects.count() == 0


def test_the_command_sends_once(season: Season, receiver: HttpReceiver) -> None:
    told(season, "webhook", receiver.url)
    raise_order(season)
    printed = io.StringIO()
    call_command("deliver", once=True, stdout=printed)
    assert printed.getvalue().strip() == "Messages tried: 1"
    assert json.loads(receiver.taken[0].body)["type"] == "order.asked_for"


def test_deliveries_are_shown_in_the_admin_without_their_secrets(season: Season) -> None:
    secret = told(season, "webhook", "https://203.0.113.7/orders")["secret"]
    raise_order(season)
    account = season.show.head.account
    for page in ("destination", "outgoing"):
        assert account.get(f"/admin/deliveries/{page}/").status == 200
    (destination,) = Destination.objects.all()
    page = account.get(f"/admin/deliveries/destination/{destination.id}/change/").content.decode()
    assert "203.0.113.7" in page
    assert secret not in page
