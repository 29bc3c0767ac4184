"""All addresses. Screens of inspections are included by name: the project wires what the packages may not import."""

from django.urls import include, path

urlpatterns = [
    path("inspections/", include("inspections.urls")),
]
