"""The addresses of stays."""

from django.urls import path

from farm.web.stays import views

urlpatterns = [
    path("batches/<int:pk>/stays/new/", views.new, name="stay-new"),
    path("batches/<int:pk>/move/", views.move, name="batch-move"),
    path("stays/<int:pk>/", views.edit, name="stay-edit"),
    path("stays/<int:pk>/remove/", views.remove, name="stay-remove"),
]
