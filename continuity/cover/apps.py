from django.apps import AppConfig


class CoverConfig(AppConfig):
    name = "continuity.cover"
    label = "cover"
