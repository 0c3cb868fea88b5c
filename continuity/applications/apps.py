from django.apps import AppConfig


class ApplicationsConfig(AppConfig):
    name = "continuity.applications"
    label = "applications"

    def ready(self) -> None:
        from continuity.applications import records  # noqa: F401  (registers this package's kinds of record)
