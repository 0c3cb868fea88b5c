"""The demo's shop has something to cast from, to weigh and to run short of."""

from __future__ import annotations

from pathlib import Path

import pytest
from django.core.management import call_command
from pytest_django import Settings

from continuity.cover.services import reconsider_orders
from continuity.demo.loader import today_of_demo
from continuity.schedule.models import Production
from continuity.shop.material_stock import stock_of
from continuity.shop.models import Order
from continuity.shop.ticket_facts import ticket_of, ticket_pdf
from continuity.stock.models import CastRun
from continuity.sync.models import Record


@pytest.fixture
def production(db: None, tmp_path: Path, settings: Settings) -> Production:
    settings.MEDIA_ROOT = tmp_path
    call_command("load_demo", today=today_of_demo())
    return Production.objects.get()


def test_the_shop_of_the_demo(production: Production) -> None:
    stock = {material.name: material for material in stock_of(production.id)}
    assert stock["Deadener"].low
    remover = stock["Oil-based remover"].lasting
    assert remover is not None
    assert remover.until is not None
    assert remover.until > today_of_demo()
    gel = stock["Silicone gel, A"].lasting
    assert gel is not None
    # By hand: the two runs weighed 8.6 + 8.6 + 10.4 + 10.4 g of A from 1000 g.
    assert float(gel.usable) == pytest.approx(962)
    assert stock["Acrylic sealer"].lots[0].words is not None

    weighed = Record.objects.get(kind="cast_run", derived__warnings__0__code="pour_off_ratio")
    (warning,) = weighed.derived["warnings"]
    assert "7.9 % too much" in warning["words"]
    run = CastRun.objects.get(id=weighed.id)
    assert (run.good, run.rejected) == (3, [{"copies": 1, "why": "Tacky"}])

    reconsider_orders(production.id)
    order = Order.objects.get(appliance__name="Cut brow, left")
    found = ticket_of(order.id).ticket
    assert found.missing == ()
    assert found.vapour is not None
    assert ticket_pdf(order.id).startswith(b"%PDF-")
