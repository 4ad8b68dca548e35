"""Every address of the site begins here."""

from django.contrib import admin
from django.urls import include, path

from farm.web import csp_reports, health, metrics

handler500 = "farm.web.away.server_error"

urlpatterns = [
    path("healthz", health.healthz, name="healthz"),
    path("readyz", health.readyz, name="readyz"),
    path("metrics", metrics.page, name="metrics"),
    path("csp-reports/", csp_reports.take, name="csp-reports"),
    path("admin/", admin.site.urls),
    path("api/v1/", include("api.urls")),
    path("", include("api.pages.urls")),
    path("", include("calendars.urls")),
    path("", include("farm.web.urls")),
]
