from django.apps import AppConfig


class DeliveriesConfig(AppConfig):
    name = "continuity.deliveries"
    label = "deliveries"
