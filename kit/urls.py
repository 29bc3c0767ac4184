"""All addresses. Screens of inspections are included by name: the project wires what kit may not import."""

from django.urls import include, path, register_converter

from kit.views import counter, counter_back, counter_issue, item, item_acts, ledger, register, sign_in, today
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
    path("items/<name:tag>/", item.item, name="item"),
    path("acts/<slug:name>/<name:tag>/", item_acts.item_act, name="item_act"),
    path("ledger/", ledger.ledger, name="ledger"),
    path("inspections/", include("inspections.urls")),
]
