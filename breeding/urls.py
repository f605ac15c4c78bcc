"""Addresses of breeding."""

from django.urls import path

from breeding import views
from breeding.forms import PairingForm, SacForm, SignForm, SpermWebForm
from collection.rights import helper_may
from collection.views.log import log_view

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
    path("animals/<int:pk>/sign/", helper_may(log_view(SignForm)), name="sign-new"),
    path("animals/<int:pk>/sperm-web/", log_view(SpermWebForm), name="spermweb-new"),
    path("animals/<int:pk>/sac/", log_view(SacForm), name="sac-new"),
]
