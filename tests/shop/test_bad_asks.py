"""What is asked wrongly of the ticket, the labels, the stock and the vapour is refused alike, and changes
nothing."""

from __future__ import annotations

import pytest

from tests.builders import Account, Show, make_show, new_id, table_counts
from tests.shop.test_ticket_api import an_order

PATHS = {
    "ticket": "orders/{order}/ticket",
    "ticket page": "orders/{order}/ticket.pdf",
    "draws": "materials/{material}/draws",
    "stock": "materials/stock",
    "labels": "labels.pdf?copies={copy}",
    "vapour": "vapour?solvent=acetone&millilitres=1&minutes=1&room_cubic_metres=1&air_changes_per_hour=1",
}
NO_IDS = [
    "nonsense",
    "0",
    "null",
    "..%2f..%2fetc",
    "%00",
    "x" * 3000,
    "",
    "01a2132b-ab9e-74c7-8b3f-ba7501fffff",
]


@pytest.mark.parametrize("name", PATHS)
def test_methods_and_strangers(show: Show, name: str) -> None:
    order, other = an_order(show), make_show("Another")
    path = PATHS[name].format(order=order, material=show.adhesive, copy=show.copies[0])
    before = table_counts()
    assert show.shop.account.client.get(show.shop.path(path)).status_code == 200
    for method in ("POST", "PUT", "PATCH", "DELETE"):
        answer = show.shop.account.raw(method, show.shop.path(path), b"{}", "application/json")
        assert (answer.status, answer.body["code"]) == (405, "method_not_allowed")
    signed_out = Account().get(show.shop.path(path))
    assert (signed_out.status, signed_out.body["code"]) == (401, "signed_out")
    stranger = other.head.account.get(show.shop.path(path))
    assert (stranger.status, stranger.body["code"]) == (404, "not_found")
    nowhere = show.shop.account.get(f"/api/productions/{new_id()}/{path}")
    assert (nowhere.status, nowhere.body["code"]) == (404, "not_found")
    assert table_counts() == before


@pytest.mark.parametrize("name", ["ticket", "ticket page", "draws"])
def test_what_is_no_id_of_theirs(show: Show, name: str) -> None:
    before = table_counts()
    others = [new_id(), show.scene, show.appliance, show.copies[0], show.production, show.shop.crew]
    for wrong in (*NO_IDS, *others):
        path = PATHS[name].format(order=wrong, material=wrong)
        answer = show.shop.account.get(show.shop.path(path))
        assert (answer.status, answer.body["code"]) == (404, "not_found"), wrong
    assert table_counts() == before


BAD_SETTINGS = {
    "scale_resolution_grams": [0, -0.1, "0.1", True, 101, [], {}],
    "pour_waste_percent": [-1, 201, "10", True, []],
    "shop_celsius": [-21, 61, "21", True, {}],
    "stirring_seconds": [-1, 3601, "60", []],
    "seconds_a_cavity": [0, -1, 3601, "45", {}],
    "ratio_tolerance_percent": [0, 51, "2", True],
    "spray_room_cubic_metres": [0, -30, 10**9, "30", True, []],
    "air_changes_per_hour": [-1, 1001, "6", {}],
    "label_page": ["a5", "A4", 4, True, []],
    "label_rows": [0, 41, 1.5, "7", True, []],
    "label_columns": [0, 21, 1.5, "3", {}],
    "label_margin_top_millimetres": [-1, 151, "15", True],
    "label_margin_side_millimetres": [-1, 151, "7", []],
    "label_gap_across_millimetres": [-1, 151, "2", {}],
    "label_gap_down_millimetres": [-1, 151, "0", True],
}


def test_settings_of_the_shop_that_cannot_be(show: Show) -> None:
    now = show.head.record(show.production)
    bad = [
        show.head.entry("production", {name: value}, show.production, now["revision"], seen=now["seq"])
        for name, values in BAD_SETTINGS.items()
        for value in values
    ]
    before = table_counts()
    results = show.head.send(*bad)
    for entry, result in zip(bad, results, strict=True):
        (name,) = entry["patch"]
        assert (result["code"], result["field"]) == ("not_a_document", name), (entry["patch"], result)
    assert table_counts() == before
    assert show.head.record(show.production) == now
