"""Every address of the program."""

from django.urls import URLPattern, URLResolver, include, path

from config import dashboard, tags, walk_worker

urlpatterns: list[URLPattern | URLResolver] = [
    path("", dashboard.dashboard, name="dashboard"),
    path("settings/", dashboard.settings, name="settings"),
    path("Q/<str:tag>", tags.by_tag, name="tag"),
    path("q/<str:tag>", tags.by_tag),
    path("walk-worker.js", walk_worker.walk_worker, name="walk-worker"),
    path("", include("config.accounts.urls")),
    path("", include("collection.urls")),
    path("", include("husbandry.urls")),
    path("", include("breeding.urls")),
    path("", include("config.backup_urls")),
    path("", include("config.calendars.urls")),
]

handler400 = "config.errors.bad_request"
handler403 = "config.errors.permission_denied"
handler404 = "config.errors.page_not_found"
handler500 = "config.errors.server_error"
