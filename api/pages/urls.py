"""Addresses of the pages about tokens and webhooks."""

from django.urls import path

from api.pages import told, views

urlpatterns = [
    path("settings/api/", views.tokens_page, name="api-tokens"),
    path("settings/api/tokens/<int:pk>/off/", views.token_off, name="api-token-off"),
    path("settings/api/webhooks/", told.webhooks_page, name="webhooks"),
    path("settings/api/webhooks/<int:pk>/", told.webhook_page, name="webhook"),
    path("settings/api/webhooks/<int:pk>/try/", told.webhook_try, name="webhook-try"),
    path("settings/api/webhooks/<int:pk>/remove/", told.webhook_remove, name="webhook-remove"),
]
