"""The addresses of stays."""

from django.urls import path

from farm.web.stays import views

urlpatterns = [
    path("batches/<int:pk>/stays/new/", views.new, name="stay-new"),
    path("batches/<int:pk>/move/", views.move, name="batch-move"),
    path("stays/<int:pk>/", views.edit, name="stay-edit"),
    path("batches/<int:pk>/stays/new/look/", views.look_at_new, name="stay-new-look"),
    path("stays/<int:pk>/look/", views.look_at_edit, name="stay-look"),
    path("stays/<int:pk>/pin/", views.pin, name="stay-pin"),
    path("stays/<int:pk>/remove/", views.remove, name="stay-remove"),
]
