"""The addresses of feed and of days to wait."""

from django.urls import path

from farm.web.feed import feeds, lines, shopping, views, waits

urlpatterns = [
    path("feed/", views.listing, name="feed"),
    path("feed/shopping/", shopping.page, name="feed-shopping"),
    path("feed/new/", feeds.new, name="feed-new"),
    path("feed/<int:pk>/", views.page, name="feed-page"),
    path("feed/<int:pk>/edit/", feeds.edit, name="feed-edit"),
    path("feed/<int:pk>/remove/", feeds.remove, name="feed-remove"),
    path("feed/<int:pk>/buy/", lines.buy, name="feed-buy"),
    path("feed/<int:pk>/open/", lines.open_bag, name="feed-open"),
    path("feed/<int:pk>/spoil/", lines.spoil, name="feed-spoil"),
    path("feed/<int:pk>/count/", lines.correct, name="feed-count"),
    path("feed/entries/<int:pk>/reverse/", lines.reverse, name="feed-line-reverse"),
    path("batches/<int:pk>/waits/new/", waits.new, name="wait-new"),
    path("waits/<int:pk>/edit/", waits.edit, name="wait-edit"),
    path("waits/<int:pk>/again/", waits.again, name="wait-again"),
    path("waits/<int:pk>/remove/", waits.remove, name="wait-remove"),
]
