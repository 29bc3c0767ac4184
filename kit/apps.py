from django.apps import AppConfig


class KitConfig(AppConfig):
    name = "kit"
    verbose_name = "Kit and stores"
