"""All addresses. Screens of inspections are included by name: the project wires what kit may not import."""

from django.urls import include, path, register_converter

from kit.views import (
    arrangements,
    counter,
    counter_back,
    counter_issue,
    item,
    item_acts,
    job,
    job_changes,
    job_papers,
    jobs,
    ledger,
    load_register,
    register,
    settings_kinds,
    sign_in,
    today,
)
from kit.views.addresses import NameConverter

register_converter(NameConverter, "name")

urlpatterns = [
    path("", today.today, name="today"),
    path("sign-in/", sign_in.sign_in, name="login"),
    path("sign-out/", sign_in.sign_out, name="logout"),
    path("depot/", sign_in.switch_depot, name="switch_depot"),
    path("counter/", counter.counter, name="counter"),
    path("counter/issue/<name:reference>/", counter_issue.issue, name="issue"),
    path("counter/scanned/<name:reference>/", counter_issue.issue_scan, name="issue_scan"),
    path("counter/issued/<name:reference>/", counter_issue.issue_finish, name="issue_finish"),
    path("counter/back/<name:reference>/", counter_back.take_back_job, name="take_back"),
    path("counter/piece/<name:tag>/", counter_back.take_back_piece, name="take_back_piece"),
    path("counter/taken-back/<int:number>/", counter_back.take_back_one, name="take_back_one"),
    path("register/", register.register, name="register"),
    path("register/spreadsheet/", register.register_export, name="register_export"),
    path("register/receive/", register.receive_item, name="receive"),
    path("register/load/", load_register.load_register, name="load_register"),
    path("register/load/<slug:sha256>/", load_register.load_register_file, name="load_register_file"),
    path(
        "register/load/<slug:sha256>/progress",
        load_register.load_register_progress,
        name="load_register_progress",
    ),
    path(
        "register/load/<slug:sha256>/faults", load_register.load_register_faults, name="load_register_faults"
    ),
    path("items/<name:tag>/", item.item, name="item"),
    path("acts/<slug:name>/<name:tag>/", item_acts.item_act, name="item_act"),
    path("items/<name:tag>/defect-tag", job_papers.defect_tag, name="defect_tag"),
    path("jobs/", jobs.jobs, name="jobs"),
    path("plan-job/", jobs.plan, name="plan_job"),
    path("jobs/<name:reference>/", job.job, name="job"),
    path("change-job/<name:reference>/", job_changes.change, name="change_job"),
    path("cancel-job/<name:reference>/", job_changes.cancel, name="cancel_job"),
    path("let-go-all/<name:reference>/", job_changes.let_go_of_all, name="let_go_all"),
    path("promises/<int:number>/let-go/", job_changes.let_go_of_one, name="let_go"),
    path("promises/<int:number>/another/", job_changes.put_another, name="substitute"),
    path("load-list/<name:reference>/", job_papers.load_list, name="load_list"),
    path("load-list/<name:reference>.pdf", job_papers.load_list_as_pdf, name="load_list_pdf"),
    path("kit-list/<name:reference>.xlsx", job_papers.kit_list_as_workbook, name="kit_list_workbook"),
    path("issue-note/<name:reference>.pdf", job_papers.issue_note, name="issue_note"),
    path("return-note/<name:reference>.pdf", job_papers.return_note, name="return_note"),
    path("arrangements/", arrangements.arrangements, name="arrangements"),
    path("arrangements/new/", arrangements.new_version, name="new_arrangement"),
    path("arrangements/<int:number>/", arrangements.arrangement, name="arrangement"),
    path("arrangements/<int:number>/next/", arrangements.new_version, name="next_arrangement"),
    path("kinds/", settings_kinds.kinds, name="kinds"),
    path("kinds/new/", settings_kinds.new_kind, name="new_kind"),
    path("kinds/<int:number>/", settings_kinds.kind, name="kind"),
    path("places/", settings_kinds.places, name="places"),
    path("ledger/", ledger.ledger, name="ledger"),
    path("inspections/", include("inspections.urls")),
]
