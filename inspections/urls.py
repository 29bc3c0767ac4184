"""Addresses of the screens of inspections, under inspections/. The path part `name` is kit's own converter."""

from django.urls import path

from inspections.views import checks, due, feed, files, quarantine, record
from inspections.views import concessions as granted

urlpatterns = [
    path("concessions/", granted.concessions, name="concessions"),
    path("concessions/spreadsheet/", granted.workbook, name="concession_workbook"),
    path("concessions/<int:number>/", granted.concession, name="concession"),
    path("ask-concession/<name:tag>/", granted.ask_concession, name="ask_concession"),
    path("reminders/", feed.reminders, name="reminders"),
    path("feed/<slug:key>.ics", feed.calendar, name="calendar"),
    path("due/", due.due, name="due"),
    path("due/spreadsheet/", due.workbook, name="due_workbook"),
    path("checks/<int:number>/", checks.kind_checks, name="kind_checks"),
    path("quarantine/", quarantine.quarantine, name="quarantine"),
    path("release/<name:tag>/", quarantine.release_item, name="release"),
    path("attach/<name:tag>/", files.attach_file, name="attach"),
    path("files/<int:number>/", files.download, name="file"),
    path("record/<name:tag>/", record.record_inspection, name="record"),
]
