from django.apps import AppConfig


class DemoConfig(AppConfig):
    name = "continuity.demo"
    label = "demo"
