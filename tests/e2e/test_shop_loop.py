"""The whole loop: copies are spoiled on set, and new ones come from the shop. On the way the server is killed
three times; nothing is lost and nothing comes twice."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import BrowserType, expect

from .bench import Bench, codes_of, film, open_order
from .desk import Desk, furnish
from .killed import KilledServer, Mailbox, killable, wait_for
from .phone import NewPhone, Phone
from .served import Json, Served, plain

PERFORMER, LOOK, APPLIANCE = "Tamsin Oakhollow", "Cut brow, fresh", "Cut brow, left"
SHOP_MAIL = "bench@quillan.example"
FAKE_CAMERA = ["--use-fake-device-for-media-stream", "--use-fake-ui-for-media-stream"]


@pytest.fixture
def mailbox() -> Iterator[Mailbox]:
    mailbox = Mailbox()
    mailbox.start()
    yield mailbox
    mailbox.stop()


@pytest.fixture
def server(demo_data: Path, tmp_path: Path, mailbox: Mailbox) -> Iterator[KilledServer]:
    with killable(demo_data, tmp_path / "served", **mailbox.settings) as server:
        yield server


@pytest.fixture
def served(server: KilledServer) -> Served:
    return server.served


def orders(server: KilledServer, appliance: str) -> dict[str, Json]:
    found = server.served.documents("order")
    return {key: order for key, order in found.items() if order["appliance"] == appliance}


def standing(server: KilledServer, appliance: str) -> list[str]:
    return sorted(order["state"] for order in orders(server, appliance).values())


def test_a_spoiled_copy_comes_back_as_new_ones(
    server: KilledServer,
    mailbox: Mailbox,
    new_phone: NewPhone,
    browser_type: BrowserType,
    browser_type_launch_args: Json,
    browser_context_args: Json,
    tmp_path: Path,
) -> None:
    desk = Desk(server.served.url, "shop")
    appliance, _ = desk.named("appliance", APPLIANCE)
    furnish(desk, APPLIANCE)
    make_covered(server, desk, appliance)
    before = {copy["serial"] for copy in server.served.documents("copy").values()}

    head = new_phone("head")
    tell_by_mail(head, SHOP_MAIL)

    # Three copies are spoiled in the chair, and the server dies before it has looked at the cover.
    artist = new_phone("artist")
    artist.sitting(PERFORMER, LOOK).click()
    artist.tap("Start")
    for spoiled in range(1, 4):
        serial = artist.section("Copies").locator(".tag:not(.spoiled)").inner_text()
        artist.spoil_copy(serial, "Edge folded")
        expect(artist.section("Copies").locator(".tag.spoiled")).to_have_count(spoiled)
        expect(artist.section("Copies").locator(".tag:not(.spoiled)")).to_have_count(1)
    artist.expect_not_sent(0)
    server.kill()
    # The mail is taken, and the server dies before it is told so.
    mailbox.on_mail = (f"hero copies of {APPLIANCE}", server.kill)
    server.start_again()
    wait_for(lambda: server.kills == 2, "The mail of the order")
    server.start_again()
    [(order_id, order)] = [
        (key, order) for key, order in orders(server, appliance).items() if order["state"] == "asked_for"
    ]
    told = mailbox.messages[-1]
    assert told["Subject"].startswith(f"Asked for: {order['copies']} hero copies of {APPLIANCE}")
    assert told["To"] == SHOP_MAIL

    serials = cast_it(new_phone("shop"), order)
    order = server.served.documents("order")[order_id]
    assert len(serials) >= order["copies"]

    # Labels: the codes of the printed sheet, read by another reader than the app's.
    copies = {copy["serial"]: key for key, copy in server.served.documents("copy").items()}
    ids = [dashed(copies[serial]) for serial in serials]
    pictures = codes_of(desk.bytes(desk.path(f"labels.pdf?copies={','.join(ids)}&skip=2")))
    assert pictures.keys() == {f"{server.served.url}/#/copy/{key}" for key in ids}
    labels = {
        serial: pictures[f"{server.served.url}/#/copy/{key}"]
        for serial, key in zip(serials, ids, strict=True)
    }

    shop = new_phone("shop")
    send_it(shop, serials)
    assert server.served.documents("order")[order_id]["state"] == "sent"

    # On set: the first label before the camera, the second serial typed; the server dies in between.
    camera = film(tmp_path / "label.mjpeg", [labels[serials[0]]])
    context = browser_type.launch_persistent_context(
        tmp_path / "camera",
        **{
            **browser_type_launch_args,
            "args": [
                *browser_type_launch_args["args"],
                *FAKE_CAMERA,
                f"--use-file-for-fake-video-capture={camera}",
            ],
        },
        **browser_context_args,
        base_url=server.served.url,
    )
    try:
        receiver = Phone(context, context.pages[0])
        receiver.open()
        receiver.sign_in("artist")
        take_in(receiver, server, serials)
    finally:
        context.close()

    # Nothing lost, nothing twice.
    assert server.kills == 3
    assert standing(server, appliance).count("arrived") == 1
    assert server.served.documents("order")[order_id]["state"] == "arrived"
    [parcel] = server.served.documents("parcel").values()
    assert {copy["arrived"] for copy in parcel["copies"].values()} == {"arrived"}
    assert sorted(map(plain, parcel["copies"])) == sorted(copies[serial] for serial in serials)
    now = server.served.documents("copy")
    assert sorted(copy["serial"] for copy in now.values()) == sorted(before | set(serials))
    assert {now[copies[serial]]["state"] for serial in serials} == {"on_set"}
    runs = [run for run in server.served.documents("cast_run").values() if run.get("order")]
    assert sum(run["good"] for run in runs) == len(serials)
    assert [line["why"] for run in runs for line in run["rejected"].values()] == ["Torn edge"]
    assert server.served.documents("conflict") == {}
    twice = server.served.rows(
        "SELECT record, patch FROM sync_entry GROUP BY record, patch, based_on HAVING count(*) > 1"
    )
    assert twice == []
    # Each change of the order has reached the shop. What was cut off came again under the same id, when the
    # sender that was killed no longer held it.
    server.served.let_leases_run_out()
    wait_for(lambda: mailbox.by_id().keys() == mail_written(server), "The last mail", seconds=120)
    doubles = [same for same in mailbox.by_id().values() if len(same) > 1]
    assert str(told["Message-ID"]) in {str(same[0]["Message-ID"]) for same in doubles}
    for same in doubles:
        assert len({(message["Subject"], message["Date"], message["To"]) for message in same}) == 1

    cover = desk.get(desk.path("cover"))
    [covered] = [one for one in cover["appliances"] if one["appliance"] == appliance]
    assert covered["p_covered"] >= 0.98
    head.go("Cover")
    line = head.page.get_by_role("link", name=re.compile(rf"^{APPLIANCE}, \d"))
    expect(line).to_contain_text("Covered to its last day")


def dashed(key: str) -> str:
    return re.sub(r"(.{8})(.{4})(.{4})(.{4})(.{12})", r"\1-\2-\3-\4-\5", key)


def mail_written(server: KilledServer) -> set[str]:
    """The Message-ID of everything that was ever to be sent."""
    rows = server.served.rows("SELECT id FROM deliveries_outgoing")
    return {f"<{dashed(row['id'])}@quillan.example>" for row in rows}


def make_covered(server: KilledServer, desk: Desk, appliance: str) -> None:
    """Enters as many copies on set as the cover asks for, so that the order that stands is called off."""
    order = wait_for(lambda: standing(server, appliance), "The order of the demo") and next(
        iter(orders(server, appliance).values())
    )
    for number in range(order["copies"]):
        desk.write(
            "copy",
            {"appliance": appliance, "serial": f"CB-{number + 901}", "grade": "hero", "state": "on_set"},
        )
    wait_for(lambda: standing(server, appliance) == ["called_off"], "Calling off what is covered")


def tell_by_mail(head: Phone, address: str) -> None:
    head.go("Shop")
    head.page.get_by_role("link", name=re.compile("^Where orders go")).click()
    head.tap("Add an address")
    panel = head.panel("Add an address")
    panel.get_by_label("E-mail address", exact=True).last.fill(address)
    panel.get_by_role("button", name="Add it").click()
    expect(head.page.get_by_text(address)).to_be_visible()


def cast_it(shop: Phone, order: Json) -> list[str]:
    """Takes the order on and casts until enough are good; one is rejected. The serials of what passed."""
    open_order(shop, APPLIANCE)
    expect(shop.page.get_by_text(order["why"])).to_be_visible()
    shop.tap("Take it on")
    shop.tap("Start casting")
    expect(shop.heading("Order of work")).to_be_visible()
    bench, serials, spoiled = Bench(shop), list[str](), False
    while len(serials) < order["copies"]:
        shop.tap("Start a cast run")
        expect(shop.heading("Lots")).to_be_visible()
        cavities = int(
            re.findall(r"(\d+) cavit", shop.page.get_by_text(re.compile(r"\d cavit")).first.inner_text())[0]
        )
        bench.take_lot("PG-A-114")
        bench.take_lot("PG-B-114")
        bench.take_lot("DD-32")
        bench.station("Weigh and pour")
        aims = bench.aims()
        for part, grams in aims.items():
            bench.weigh(part, grams)
        shop.page.get_by_role("button", name=re.compile("^A meets B")).click()
        expect(bench.timer("Pot life")).to_be_visible()
        shop.tap("It is poured")
        expect(bench.timer("Pot life")).to_be_hidden()
        bench.station("Out of the mould")
        for number in range(1, cavities + 1):
            if number == 2 and not spoiled:
                bench.rejected(number, "Torn edge")
                spoiled = True
            else:
                bench.good(number)
        serials += bench.give_serials()
        bench.station("Labels")
        expect_taken(shop)
        if len(serials) < order["copies"]:
            shop.page.get_by_role("link", name="Next run").click()
            expect(shop.heading("Order of work")).to_be_visible()
    return serials


def expect_taken(phone: Phone) -> None:
    """Everything was sent, and the server took it."""
    expect(phone.unsent_line).to_have_text(re.compile("^(All sent|Nothing waiting)$"))
    if phone.unsent_line.inner_text() == "Nothing waiting":
        phone.go_unsent()
        raise AssertionError(phone.page.get_by_role("main").inner_text())


def send_it(shop: Phone, serials: list[str]) -> None:
    open_order(shop, APPLIANCE)
    shop.page.get_by_role("link", name="Pack a parcel").click()
    for serial in serials:
        expect(shop.page.get_by_role("checkbox", name=serial)).to_be_checked()
    shop.page.get_by_role("button", name=re.compile(r"^Pack \d+ cop")).click()
    expect(shop.heading("Packing list")).to_be_visible()
    shop.page.get_by_label("How it travels").fill("With the unit driver")
    shop.tap("It is sent")
    expect(shop.page.get_by_text("On its way", exact=True)).to_be_visible()
    shop.expect_not_sent(0)


def take_in(artist: Phone, server: KilledServer, serials: list[str]) -> None:
    artist.go("Shop")
    artist.page.get_by_role("link", name="Scan copies in").click()
    expect(artist.page.get_by_text(f"{serials[0]} has arrived")).to_be_visible()
    artist.page.get_by_role("link", name=re.compile("to be looked for")).click()
    expect(artist.heading("Packing list")).to_be_visible()
    artist.expect_not_sent(0)
    server.kill()
    artist.page.get_by_label("Or type the serial").fill(serials[1])
    artist.tap("It is here")
    expect(artist.page.get_by_text(f"{serials[1]} has arrived")).to_be_visible()
    if len(serials) > 2:
        artist.page.get_by_role("button", name=re.compile(r"^The other \d+ (is|are) here")).click()
    expect(artist.page.get_by_text(f"All {len(serials)} arrived.")).to_be_visible()
    expect(artist.unsent_line).to_have_text(re.compile(r"^\d+ not sent yet$"))
    server.start_again()
    artist.go_unsent()
    artist.tap("Send now")
    artist.expect_not_sent(0)
