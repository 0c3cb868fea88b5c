from django.apps import AppConfig


class BenchConfig(AppConfig):
    name = "continuity.bench"
    label = "bench"
