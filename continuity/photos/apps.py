from django.apps import AppConfig


class PhotosConfig(AppConfig):
    name = "continuity.photos"
    label = "photos"
