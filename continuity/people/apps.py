from django.apps import AppConfig


class PeopleConfig(AppConfig):
    name = "continuity.people"
    label = "people"

    def ready(self) -> None:
        from continuity.people import records  # noqa: F401  (registers this package's kinds of record)
