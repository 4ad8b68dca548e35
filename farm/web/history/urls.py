"""The addresses of the history."""

from django.urls import path

from farm.web.history import views

urlpatterns = [
    path("history/", views.entries, name="history"),
    path("history/<int:pk>/", views.entry, name="history-entry"),
    path("history/<int:pk>/undo/", views.undo, name="history-undo"),
]
