"""Addresses of the screens of inspections, under inspections/. The path part `name` is kit's own converter."""

from django.urls import path

from inspections.views import quarantine, record

urlpatterns = [
    path("quarantine/", quarantine.quarantine, name="quarantine"),
    path("release/<name:tag>/", quarantine.release_item, name="release"),
    path("record/<name:tag>/", record.record_inspection, name="record"),
]
