from django.apps import AppConfig


class MatchConfig(AppConfig):
    name = "continuity.match"
    label = "match"

    def ready(self) -> None:
        from continuity.match import records  # noqa: F401  (registers this package's kinds of record)
