"""Addresses of the calibration app."""

from django.urls import URLPattern

app_name = "calibration"
urlpatterns: list[URLPattern] = []
