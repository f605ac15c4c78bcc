"""Addresses of the bottom app."""

from django.urls import path

from collection.forms.events import (
    CountForm,
    DeathForm,
    DepartureForm,
    HeadLossForm,
    MeasureForm,
    NoteForm,
    ReturnForm,
)
from collection.forms.evidence import EvidenceForm
from collection.forms.health import CheckForm, ConcernForm, EntryForm, HealthForm, QuarantineForm
from collection.forms.molts import MoltForm, MoltSignForm
from collection.views import evidence, growth, health, importing, likelihoods, papers, search, specimens, taxa, undo
from collection.views.lives import survival
from collection.views.log import log_paths, log_view

app_name = "collection"
urlpatterns = [
    path("animals/", specimens.specimen_list, name="specimen-list"),
    path("animals/new/", specimens.specimen_edit, name="specimen-new"),
    path("animals/<int:pk>/", specimens.specimen_detail, name="specimen-detail"),
    path("animals/<int:pk>/edit/", specimens.specimen_edit, name="specimen-edit"),
    path("animals/<int:pk>/everything/", specimens.specimen_history, name="specimen-history"),
    path("animals/<int:pk>/evidence/", evidence.specimen_evidence, name="specimen-evidence"),
    path("animals/<int:pk>/evidence/look/", log_view(EvidenceForm), name="evidence-new"),
    path("animals/<int:pk>/evidence/look/<int:event>/", evidence.evidence_mend, name="evidence-edit"),
    *log_paths("molt", "molt", MoltForm, helper=True),
    *log_paths("moltsign", "molt-sign", MoltSignForm, helper=True),
    path("animals/<int:pk>/growth/", growth.specimen_growth, name="specimen-growth"),
    path("animals/molts/", growth.many_molts, name="molts-many"),
    *log_paths("measure", "measurement", MeasureForm, helper=True),
    *log_paths("note", "note", NoteForm, helper=True),
    *log_paths("groupcount", "count", CountForm),
    *log_paths("headloss", "died", HeadLossForm),
    *log_paths("concern", "concern", ConcernForm, helper=True),
    *log_paths("health", "health/issue", HealthForm),
    *log_paths("health-entry", "health/look", EntryForm)[1:],
    *log_paths("quarantine", "quarantine", QuarantineForm),
    *log_paths("quarantine-check", "quarantine/check", CheckForm)[1:],
    path("animals/<int:pk>/health/", health.specimen_health, name="specimen-health"),
    path("animals/<int:pk>/health/due/", health.health_look, name="health-look"),
    path("animals/<int:pk>/quarantine/check/", health.quarantine, name="quarantine"),
    path("animals/<int:pk>/quarantine/end/", health.quarantine_end, name="quarantine-end"),
    path("health/<int:pk>/", health.health_detail, name="health-detail"),
    path("health/<int:pk>/look/", health.entry_new, name="health-entry-new"),
    path("health/<int:pk>/close/", health.health_close, name="health-close"),
    path("health/<int:pk>/again/", health.health_reopen, name="health-reopen"),
    path("concerns/<int:pk>/issue/", health.concern_issue, name="concern-issue"),
    path("concerns/<int:pk>/answer/", health.concern_set_aside, name="concern-answer"),
    *log_paths("death", "death", DeathForm),
    *log_paths("departure", "departure", DepartureForm),
    path("animals/<int:pk>/return/", log_view(ReturnForm), name="return-new"),
    path("evidence/<int:pk>/withdraw/", evidence.evidence_withdraw, name="evidence-withdraw"),
    path("settings/sexing/", likelihoods.likelihood_list, name="likelihood-list"),
    path("settings/sexing/<slug:key>/", likelihoods.likelihood_edit, name="likelihood-edit"),
    path("settings/sexing/<slug:key>/reset/", likelihoods.likelihood_reset, name="likelihood-reset"),
    path("find/", search.find, name="find"),
    path("undo/<int:pk>/", undo.undo, name="undo"),
    path("papers/", papers.papers, name="papers"),
    path("papers/survival/", survival, name="survival"),
    path("papers/taxa/", taxa.taxon_list, name="taxon-list"),
    path("papers/taxa/new/", taxa.taxon_edit, name="taxon-new"),
    path("papers/taxa/<int:pk>/", taxa.taxon_detail, name="taxon-detail"),
    path("papers/taxa/<int:pk>/edit/", taxa.taxon_edit, name="taxon-edit"),
    path("papers/contacts/", papers.contact_list, name="contact-list"),
    path("papers/contacts/new/", papers.contact_edit, name="contact-new"),
    path("papers/contacts/<int:pk>/", papers.contact_edit, name="contact-edit"),
    path("papers/arrivals/", papers.arrival_list, name="arrival-list"),
    path("papers/arrivals/new/", papers.arrival_edit, name="arrival-new"),
    path("papers/arrivals/<int:pk>/", papers.arrival_edit, name="arrival-edit"),
    path("papers/imports/", importing.import_list, name="import-list"),
    path("papers/imports/<int:pk>/", importing.import_detail, name="import-detail"),
    path("papers/imports/<int:pk>/columns/", importing.import_columns, name="import-columns"),
    path("papers/imports/<int:pk>/sheet/", importing.import_sheet, name="import-sheet"),
    path("papers/imports/<int:pk>/questions/", importing.import_questions, name="import-questions"),
    path("papers/imports/<int:pk>/write/", importing.import_commit, name="import-commit"),
    path("papers/imports/<int:pk>/undo/", importing.import_undo, name="import-undo"),
    path("papers/imports/<int:pk>/discard/", importing.import_discard, name="import-discard"),
]
