from django.apps import AppConfig


class InspectionsConfig(AppConfig):
    name = "inspections"
    verbose_name = "Inspections"

    def ready(self) -> None:
        from inspections import plugs

        plugs.plug_in()
