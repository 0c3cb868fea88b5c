from django.apps import AppConfig


class SyncConfig(AppConfig):
    name = "continuity.sync"
    label = "sync"

    def ready(self) -> None:
        from continuity.sync import records  # noqa: F401  (registers this package's kinds of record)
