"""Addresses of the backups page."""

from django.urls import path

from config import backup_views

app_name = "backups"
urlpatterns = [
    path("settings/backups/", backup_views.backup_list, name="list"),
    path("settings/backups/make/", backup_views.backup_make, name="make"),
    path("settings/backups/<str:name>", backup_views.backup_download, name="download"),
]
