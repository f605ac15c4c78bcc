"""Addresses of breeding."""

from django.urls import path

from breeding.forms import CorrectMeetingForm, HeadCountForm, PairingForm, SacForm, SignForm, SpermWebForm
from breeding.forms_brood import LoanForm, SacCheckForm
from breeding.views import clutch, kin, meeting, plan, signs, watch
from collection.views.log import log_paths, log_view

app_name = "breeding"
urlpatterns = [
    path("breeding/", watch.sac_watch, name="home"),
    path("breeding/females/<int:pk>/", watch.sac_watch, name="sac-watch"),
    path("breeding/pairings/", watch.pairing_list, name="pairing-list"),
    path("breeding/pairings/<int:pk>/", watch.pairing_detail, name="pairing-detail"),
    path("breeding/pairings/<int:pk>/meeting/", watch.meeting_new, name="meeting-new"),
    path("breeding/pairings/<int:pk>/before/", meeting.before, name="before"),
    path("breeding/pairings/<int:pk>/live/", meeting.live, name="live"),
    path("breeding/pairings/<int:pk>/taps/", meeting.taps, name="meeting-taps"),
    path("animals/<int:pk>/meet/", meeting.meet, name="meet"),
    path("breeding/readiness/", plan.ready, name="readiness"),
    path("breeding/sacs/", watch.sac_list, name="sac-list"),
    path("breeding/sacs/<int:pk>/", clutch.sac_detail, name="sac-detail"),
    path("breeding/sacs/<int:pk>/look/", clutch.check_new, name="check-new"),
    path("breeding/sacs/<int:pk>/shares/new/", clutch.share_edit, name="share-new"),
    path("breeding/sacs/<int:pk>/shares/<int:share>/", clutch.share_edit, name="share-edit"),
    path("breeding/sacs/<int:pk>/shares/<int:share>/deliver/", clutch.deliver, name="deliver"),
    path("breeding/sacs/<int:pk>/pass-on/", clutch.pass_on, name="pass-on"),
    path("breeding/sacs/<int:pk>/take-out/", clutch.take_out, name="take-out"),
    path("breeding/loans/", clutch.loan_list, name="loan-list"),
    path("breeding/loans/<int:pk>/paper/", clutch.loan_paper, name="loan-paper"),
    path("animals/<int:pk>/clutch/", clutch.clutch_of, name="clutch-of"),
    path("animals/<int:pk>/loan/back/", clutch.loan_end, name="loan-end-of"),
    path("breeding/sacs/<int:pk>/count/", watch.count_new, name="count-new"),
    path("breeding/sacs/<int:pk>/state/", watch.sac_state, name="sac-state"),
    path("animals/<int:pk>/pairing/", log_view(PairingForm), name="pairing-new"),
    path("breeding/plan/", plan.plan, name="plan"),
    path("breeding/plan/keep/", plan.keep, name="plan-keep"),
    path("settings/signs/", signs.sign_list, name="sign-ratios"),
    path("settings/signs/<slug:sign>/", signs.sign_edit, name="sign-ratio-edit"),
    path("settings/signs/<slug:sign>/reset/", signs.sign_reset, name="sign-ratio-reset"),
    path("breeding/kin/", kin.any_two, name="kin"),
    path("breeding/lines/<int:pk>/", kin.line, name="line"),
    path("animals/<int:pk>/kin/", kin.of_one, name="specimen-kin"),
    path("animals/<int:pk>/kin/sires/", kin.sires, name="sires-edit"),
    *log_paths("meeting-of", "meeting", CorrectMeetingForm)[1:],
    *log_paths("count", "sac-count", HeadCountForm)[1:],
    *log_paths("check", "sac-look", SacCheckForm)[1:],
    *log_paths("sign", "sign", SignForm, helper=True),
    *log_paths("spermweb", "sperm-web", SpermWebForm),
    *log_paths("sac", "sac", SacForm),
    *log_paths("loan", "loan", LoanForm),
]
