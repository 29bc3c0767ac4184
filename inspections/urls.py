"""Addresses of the screens of inspections, under inspections/. The path part `name` is kit's own converter."""

from django.urls import path

from inspections.views import (
    batch,
    bench,
    checks,
    due,
    feed,
    files,
    hold,
    one_record,
    papers,
    quarantine,
    readings,
    record,
)
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
    path("bench/", bench.bench, name="bench"),
    path("bench/hold/", hold.hold_bench, name="hold_bench"),
    path("bench/hold/gauge/", hold.hold_setting, name="hold_setting"),
    path("bench/hold/start/<name:tag>/", hold.hold_start, name="hold_start"),
    path("bench/hold/<int:number>/end/", hold.hold_end, name="hold_end"),
    path("bench/hold/<int:number>/break-off/", hold.hold_break_off, name="hold_break_off"),
    path("bench/batch/<int:number>/", batch.batch_page, name="batch"),
    path("bench/batch/<int:number>/scan/", batch.batch_scan, name="batch_scan"),
    path("bench/batch/<int:number>/note/", batch.batch_note, name="batch_note"),
    path("bench/batch/<int:number>/shared/", batch.batch_shared, name="batch_shared"),
    path("bench/batch/<int:number>/clear/", batch.batch_clear, name="batch_clear"),
    path("bench/batch/<int:number>/record/", batch.batch_record, name="batch_record"),
    path("hold-test/<name:tag>/", readings.hold_elsewhere, name="hold_elsewhere"),
    path("calibration/<name:tag>/", readings.calibrate, name="calibrate"),
    path("form/<name:tag>/", readings.form_check, name="form_check"),
    path("records/<int:number>/", one_record.inspection, name="inspection"),
    path("records/<int:number>/test-record.pdf", papers.test_record, name="test_record"),
    path("record/<name:tag>/", record.record_inspection, name="record"),
]
