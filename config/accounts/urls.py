"""Addresses of the account pages."""

from django.urls import path

from config.accounts import invitation_views, views

app_name = "accounts"
urlpatterns = [
    path("setup/", views.setup, name="setup"),
    path("sign-in/", views.sign_in, name="sign-in"),
    path("sign-out/", views.sign_out, name="sign-out"),
    path("settings/password/", views.password, name="password"),
    path("settings/devices/", views.device_list, name="devices"),
    path("settings/devices/<str:device_id>/sign-out/", views.device_sign_out, name="device-sign-out"),
    path("settings/people/", views.people, name="people"),
    path("settings/people/<int:pk>/end/", views.end_helper, name="end-helper"),
    path("settings/people/invite/", invitation_views.invite, name="invite"),
    path("settings/people/invitations/<int:pk>/withdraw/", invitation_views.withdraw, name="withdraw"),
    path("invited/<str:word>/", invitation_views.join, name="join"),
]
