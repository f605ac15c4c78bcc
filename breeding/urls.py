"""Addresses of breeding."""

from django.urls import path

from breeding import views
from breeding.forms import CorrectMeetingForm, PairingForm, SacForm, SignForm, SpermWebForm
from collection.views.log import log_paths, log_view

app_name = "breeding"
urlpatterns = [
    path("breeding/", views.sac_watch, name="home"),
    path("breeding/females/<int:pk>/", views.sac_watch, name="sac-watch"),
    path("breeding/pairings/", views.pairing_list, name="pairing-list"),
    path("breeding/pairings/<int:pk>/", views.pairing_detail, name="pairing-detail"),
    path("breeding/pairings/<int:pk>/meeting/", views.meeting_new, name="meeting-new"),
    path("breeding/sacs/", views.sac_list, name="sac-list"),
    path("breeding/sacs/<int:pk>/", views.sac_detail, name="sac-detail"),
    path("breeding/sacs/<int:pk>/count/", views.count_new, name="count-new"),
    path("breeding/sacs/<int:pk>/state/", views.sac_state, name="sac-state"),
    path("animals/<int:pk>/pairing/", log_view(PairingForm), name="pairing-new"),
    *log_paths("meeting-of", "meeting", CorrectMeetingForm)[1:],
    *log_paths("sign", "sign", SignForm, helper=True),
    *log_paths("spermweb", "sperm-web", SpermWebForm),
    *log_paths("sac", "sac", SacForm),
]
