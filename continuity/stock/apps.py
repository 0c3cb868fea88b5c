from django.apps import AppConfig


class StockConfig(AppConfig):
    name = "continuity.stock"
    label = "stock"

    def ready(self) -> None:
        from continuity.stock import records  # noqa: F401  (registers this package's kinds of record)
