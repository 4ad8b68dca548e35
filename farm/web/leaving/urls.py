"""Addresses of leaving for good."""

from django.urls import path

from farm.web.leaving import farms, logins, members

urlpatterns = [
    path("settings/close/", farms.close, name="farm-close"),
    path("closed/", farms.closed, name="farm-closed"),
    path("closed/keep/", farms.keep, name="farm-keep"),
    path("people/left/", members.listing, name="members-left"),
    path("people/<int:pk>/forget/", members.forget, name="member-forget"),
    path("login/give-up/", logins.give_up, name="login-give-up"),
]
