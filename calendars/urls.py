"""The address calendar apps ask, and the pages about calendar links.

`calendars.middleware` answers the first before the router does; this names it.
"""

from __future__ import annotations

from django.urls import include, path, re_path

from calendars import views

urlpatterns = [
    re_path(r"^c/(?P<secret>[^/]+)\.ics$", views.calendar, name="calendar"),
    path("", include("calendars.dav.urls")),
    path("", include("calendars.incoming.pages.urls")),
    path("", include("calendars.pages.urls")),
]
