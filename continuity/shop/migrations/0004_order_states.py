from __future__ import annotations

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("shop", "0003_made_orders_have_arrived")]

    operations = [
        migrations.AddConstraint(
            model_name="order",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    (
                        "state__in",
                        ["asked_for", "taken_on", "casting", "sent", "arrived", "called_off"],
                    )
                ),
                name="order_state_is_known",
            ),
        )
    ]
