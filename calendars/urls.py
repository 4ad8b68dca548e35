"""The address calendar apps ask. `calendars.middleware` answers it before the router does; this names it."""

from __future__ import annotations

from django.urls import re_path

from calendars import views

urlpatterns = [re_path(r"^c/(?P<secret>[^/]+)\.ics$", views.calendar, name="calendar")]
