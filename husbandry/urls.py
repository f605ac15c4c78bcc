"""Addresses of husbandry."""

from django.urls import path

from collection.rights import helper_may
from collection.views.log import log_view
from husbandry.forms.care import FeedingForm, HoldForm, MoveForm, RhythmForm, WaterForm
from husbandry.views import care, places

app_name = "husbandry"
urlpatterns = [
    path("racks/", places.place_list, name="place-list"),
    path("racks/new/", places.place_edit, name="place-new"),
    path("racks/<int:pk>/", places.place_detail, name="place-detail"),
    path("racks/<int:pk>/edit/", places.place_edit, name="place-edit"),
    path("enclosures/new/", places.enclosure_edit, name="enclosure-new"),
    path("enclosures/<int:pk>/", places.enclosure_detail, name="enclosure-detail"),
    path("enclosures/<int:pk>/edit/", places.enclosure_edit, name="enclosure-edit"),
    path("animals/<int:pk>/fed/", care.feed_now, name="feed-now"),
    path("animals/<int:pk>/water-done/", care.water_now, name="water-now"),
    path("animals/<int:pk>/meal/", helper_may(log_view(FeedingForm)), name="feed-new"),
    path("animals/<int:pk>/upkeep/", helper_may(log_view(WaterForm)), name="upkeep-new"),
    path("animals/<int:pk>/move/", log_view(MoveForm), name="move-new"),
    path("animals/<int:pk>/rhythm/", log_view(RhythmForm), name="rhythm-new"),
    path("animals/<int:pk>/hold/", log_view(HoldForm), name="hold-new"),
    path("holds/<int:pk>/lift/", care.lift_hold, name="hold-lift"),
]
