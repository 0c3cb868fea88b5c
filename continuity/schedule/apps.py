from django.apps import AppConfig


class ScheduleConfig(AppConfig):
    name = "continuity.schedule"
    label = "schedule"

    def ready(self) -> None:
        from continuity.schedule import records  # noqa: F401  (registers this package's kinds of record)
