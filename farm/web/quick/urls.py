"""The address of quick entry."""

from django.urls import path

from farm.web.quick import views

urlpatterns = [path("quick/", views.quick, name="quick")]
