"""Addresses of reminders."""

from django.urls import path

from farm.web.reminders import browser, channels, messages, views

urlpatterns = [
    path("my/reminders/", views.mine, name="my-reminders"),
    path("my/reminders/browser/", browser.subscribe, name="my-browser"),
    path("my/reminders/channels/<int:pk>/test/", channels.test, name="channel-test"),
    path("my/reminders/channels/<int:pk>/switch/", channels.switch, name="channel-switch"),
    path("my/reminders/channels/<int:pk>/remove/", channels.remove, name="channel-remove"),
    path("people/<int:pk>/reminders/", views.theirs, name="member-reminders"),
    path("people/messages/", messages.messages, name="messages"),
    path("people/messages/<int:pk>/again/", messages.again, name="message-again"),
    path("people/messages/<int:pk>/drop/", messages.drop, name="message-drop"),
]
