"""Every address the server answers. The app itself is files, served before this is asked."""

from __future__ import annotations

from django.contrib import admin
from django.urls import include, path, re_path

from api import (
    cover_views,
    csv_views,
    delivery_views,
    history_views,
    match_views,
    schema,  # noqa: F401  (makes the session known to the OpenAPI document)
    ticket_views,
    views,
)

handler404 = "api.errors.not_found"

SHA256 = r"(?P<sha256>[0-9a-f]{64})"

production_urls = [
    path("crew", views.CrewView.as_view()),
    path("crew/<uuid:crew>", views.CrewMemberView.as_view()),
    path("match-sheet", match_views.MatchSheetView.as_view()),
    path("entries", views.EntriesView.as_view()),
    path("entries/missing", views.MissingEntriesView.as_view()),
    path("changes", views.ChangesView.as_view()),
    path("cover", cover_views.CoverView.as_view()),
    path("cover/what-if", cover_views.WhatIfView.as_view()),
    path("cover/report", cover_views.CoverReportView.as_view()),
    path("cover/<uuid:appliance>/reasons", cover_views.CoverReasonsView.as_view()),
    path("orders/<uuid:order>/history", history_views.OrderHistoryView.as_view()),
    path("orders/<uuid:order>/ticket", ticket_views.TicketView.as_view()),
    path("orders/<uuid:order>/ticket.pdf", ticket_views.TicketPageView.as_view()),
    path("labels.pdf", ticket_views.LabelsView.as_view()),
    path("materials/stock", ticket_views.StockView.as_view()),
    path("materials/<uuid:material>/draws", ticket_views.DrawsView.as_view()),
    path("vapour", ticket_views.VapourView.as_view()),
    path("unsent", views.UnsentView.as_view()),
    path("destinations", delivery_views.DestinationsView.as_view()),
    path("destinations/<uuid:destination>", delivery_views.DestinationView.as_view()),
    path("deliveries", delivery_views.DeliveriesView.as_view()),
    path("deliveries/<uuid:delivery>/retry", delivery_views.DeliveryRetryView.as_view()),
    path("push", delivery_views.PushView.as_view()),
    path("calendar", delivery_views.CalendarAddressView.as_view()),
    path("csv/<str:what>/template", csv_views.CsvTemplateView.as_view()),
    path("csv/<str:what>/preview", csv_views.CsvPreviewView.as_view()),
    path("csv/<str:what>/confirm", csv_views.CsvConfirmView.as_view()),
    re_path(rf"^files/{SHA256}$", views.FileView.as_view()),
    re_path(rf"^files/{SHA256}/retry$", views.FileRetryView.as_view()),
    re_path(rf"^photos/{SHA256}/(?P<rendition>small|large|full)$", views.PhotoView.as_view()),
]

urlpatterns = [
    path("admin/", admin.site.urls),
    re_path(r"^calendar/(?P<secret>[A-Za-z0-9_-]{43})\.ics$", delivery_views.CalendarView.as_view()),
    path("api/session", views.SessionView.as_view()),
    path("api/productions", views.ProductionsView.as_view()),
    path("api/productions/<uuid:production>/", include(production_urls)),
]
