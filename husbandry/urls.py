"""Addresses of husbandry."""

from django.urls import path

from collection.views.log import log_paths, log_view
from husbandry.forms.care import FeedingForm, HoldForm, MoveForm, RhythmForm, WaterForm
from husbandry.views import arranging, care, feeders, handover, isolation, labels, places, rhythms, walks
from husbandry.views.climate_paths import climate_paths

app_name = "husbandry"
urlpatterns = [
    path("racks/", places.place_list, name="place-list"),
    path("racks/new/", places.place_edit, name="place-new"),
    path("racks/handover/", handover.handover_sheet, name="handover"),
    path("racks/emergency-card/", handover.emergency_card, name="emergency-card"),
    path("racks/walk/", walks.walk_new, name="walk-new"),
    path("walks/<int:pk>/", walks.walk, name="walk"),
    path("walks/<int:pk>/taps/", walks.walk_taps, name="walk-taps"),
    path("walks/<int:pk>/summary/", walks.walk_summary, name="walk-summary"),
    path("racks/labels/", labels.label_page, name="label-page"),
    path("racks/labels/address/", labels.label_address, name="label-address"),
    path("racks/labels/prints/<int:pk>/", labels.label_print, name="label-print"),
    path("racks/labels/prints/<int:pk>/labels.pdf", labels.label_pdf, name="label-pdf"),
    path("racks/labels/printers/new/", labels.printer_edit, name="printer-new"),
    path("racks/labels/printers/<int:pk>/", labels.printer_edit, name="printer-edit"),
    path("racks/labels/printers/<int:pk>/calibration.pdf", labels.calibration_pdf, name="calibration-pdf"),
    *climate_paths,
    path("racks/feeders/", feeders.feeder_list, name="feeder-list"),
    path("racks/feeders/new/", feeders.feeder_edit, name="feeder-new"),
    path("racks/feeders/shopping/", feeders.shopping_list, name="shopping-list"),
    path("racks/feeders/<int:pk>/", feeders.feeder_detail, name="feeder-detail"),
    path("racks/feeders/<int:pk>/edit/", feeders.feeder_edit, name="feeder-edit"),
    path("racks/feeders/<int:pk>/entry/<slug:kind>/", feeders.entry_new, name="feeder-entry-new"),
    path("racks/feeders/entries/<int:pk>/", feeders.entry_edit, name="feeder-entry-edit"),
    path("racks/rhythms/", rhythms.rhythm_list, name="rhythm-list"),
    path("racks/rhythms/new/", rhythms.rhythm_wide, name="rhythm-wide-new"),
    path("racks/rhythms/<int:pk>/", rhythms.rhythm_wide, name="rhythm-wide-edit"),
    path("racks/apart/", isolation.apart, name="apart"),
    path("health/<int:pk>/near/", isolation.exposure_list, name="exposure"),
    path("health/<int:pk>/near/<int:animal>/", isolation.exposure_check, name="exposure-check"),
    path("racks/<int:pk>/", places.place_detail, name="place-detail"),
    path("racks/<int:pk>/edit/", places.place_edit, name="place-edit"),
    path("racks/<int:pk>/upkeep/", places.place_upkeep, name="place-upkeep"),
    path("racks/<int:pk>/round/", places.place_round, name="place-round"),
    path("racks/<int:pk>/arrange/", arranging.arrange, name="place-arrange"),
    path("racks/<int:pk>/arrange/put/", arranging.put, name="place-put"),
    path("racks/fit/", places.fit, name="fit"),
    path("enclosures/new/", places.enclosure_edit, name="enclosure-new"),
    path("enclosures/<int:pk>/", places.enclosure_detail, name="enclosure-detail"),
    path("enclosures/<int:pk>/edit/", places.enclosure_edit, name="enclosure-edit"),
    path("enclosures/<int:pk>/upkeep/", places.enclosure_upkeep, name="enclosure-upkeep"),
    path("animals/<int:pk>/fed/", care.feed_now, name="feed-now"),
    path("animals/<int:pk>/water-done/", care.water_now, name="water-now"),
    path("animals/<int:pk>/upkeep-done/", care.upkeep_now, name="upkeep-now"),
    path("animals/<int:pk>/meals/", rhythms.meal_years, name="meal-years"),
    path("animals/<int:pk>/move/", log_view(MoveForm), name="move-new"),
    *log_paths("feed", "meal", FeedingForm, helper=True),
    *log_paths("upkeep", "upkeep", WaterForm, helper=True),
    *log_paths("rhythm", "rhythm", RhythmForm),
    *log_paths("hold", "hold", HoldForm),
    path("holds/<int:pk>/lift/", care.lift_hold, name="hold-lift"),
]
