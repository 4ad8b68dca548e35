"""Addresses of a member's own page; those with a link are open to whoever holds it."""

from django.urls import path, register_converter
from django.urls.converters import StringConverter

from farm.web.my import app, swaps, sync, views


class LinkConverter(StringConverter):
    """The secret of a personal link: nothing else below /my/ is so long."""

    regex = "[A-Za-z0-9_-]{32}"


class SwapAnswerConverter(StringConverter):
    """What may be said to a swap."""

    regex = "accept|decline|withdraw"


register_converter(LinkConverter, "personal")
register_converter(SwapAnswerConverter, "swap_answer")

urlpatterns = [
    path("my/", views.my, name="my"),
    path("my/sync/", sync.my_sync, name="my-sync"),
    path("my/token/", sync.my_token, name="my-token"),
    path("my/manifest.webmanifest", app.manifest, name="my-manifest"),
    path("my/worker.js", app.worker, name="my-worker"),
    path("my/photo/<int:pk>/", views.photo, name="my-photo"),
    path("my/swaps/offer/", swaps.offer, name="my-swap-offer"),
    path("my/swaps/<int:pk>/<swap_answer:answer>/", swaps.answer, name="my-swap-answer"),
    # What follows /my/ here is blotted out of the logs (farm.settings.redact).
    path("my/<personal:link>/", views.my_by_link, name="my-link"),
    path("my/<personal:link>/sync/", sync.my_sync_by_link, name="my-link-sync"),
    path("my/<personal:link>/manifest.webmanifest", app.manifest_by_link, name="my-link-manifest"),
]
