from django.apps import AppConfig


class ShopConfig(AppConfig):
    name = "continuity.shop"
    label = "shop"

    def ready(self) -> None:
        from continuity.shop import records  # noqa: F401  (registers this package's kinds of record)
