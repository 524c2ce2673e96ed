"""Every page. A page without a door does not pass the checks at start."""

from __future__ import annotations

from django.urls import path

from vestry.hospital.access import views as access
from vestry.hospital.anteroom import upload
from vestry.hospital.anteroom import views as anteroom
from vestry.hospital.desk import (
    amounts_pages,
    approvals,
    cases,
    casetable,
    changing,
    comparing,
    estimates,
    explaining,
    facts_pages,
    home,
    order_pages,
    practice,
    procedures,
    substituting,
    weighing,
)
from vestry.hospital.record import views as record
from vestry.hospital.registers import able, exporting, importing, people_pages, picking_pages, stock_pages, unit_pages
from vestry.hospital.rooms import air as rooms_air
from vestry.hospital.rooms import disinfectant as rooms_disinfectant
from vestry.hospital.rooms import register as rooms_register
from vestry.hospital.rooms import waste as rooms_waste

urlpatterns = [
    path("", home.home),
    path("sign-in/", access.sign_in),
    path("sign-out/", access.sign_out),
    path("people/", people_pages.register),
    path("people/able/", able.able),
    path("people/me/", people_pages.my_page),
    path("people/new/", people_pages.new_person),
    path("people/roles/", access.people),
    path("people/import/", importing.import_people),
    path("people/import/<uuid:key>/", importing.people_draft),
    path("people/export.csv", exporting.people_csv),
    path("people/export.xlsx", exporting.people_xlsx),
    path("people/<uuid:key>/", people_pages.person_page),
    path("stock/", stock_pages.shelf),
    path("stock/import/", importing.import_stock),
    path("stock/import/<uuid:key>/", importing.stock_draft),
    path("stock/export.csv", exporting.stock_csv),
    path("stock/export.xlsx", exporting.stock_xlsx),
    path("stock/receive/", stock_pages.receive),
    path("stock/reserves/", stock_pages.reserves),
    path("stock/picking/", picking_pages.pick),
    path("stock/post-entries/", stock_pages.post_entries),
    path("stock/units/", unit_pages.units),
    path("stock/units/<uuid:key>/", unit_pages.unit),
    path("stock/lots/<uuid:key>/", stock_pages.lot_page),
    path("stock/lots/<uuid:key>/hold/", stock_pages.hold),
    path("cases/new/", cases.new_case),
    path("cases/<uuid:key>/", cases.case),
    path("cases/<uuid:key>/plan-again/", cases.plan_again),
    path("cases/<uuid:key>/approve/", approvals.approve),
    path("cases/<uuid:key>/override/", cases.override),
    path("orders/", order_pages.order_list),
    path("orders/<slug:name>/", order_pages.order),
    path("compare/", comparing.compared),
    path("explain/", explaining.explained),
    path("explain/why.pdf", explaining.sheet),
    path("substitute/", substituting.substituted),
    path("substitute/differences.pdf", substituting.differences),
    path("change/", changing.changed),
    path("change/exit.pdf", changing.exit_sheet),
    path("change/all-clear.pdf", changing.all_clear),
    path("case-table/", casetable.table),
    path("facts/", facts_pages.records),
    path("facts/adopt/", facts_pages.adopt),
    path("facts/estimates/", estimates.records),
    path("facts/history/", facts_pages.history),
    path("facts/<uuid:key>/", facts_pages.adopted),
    path("amounts/", amounts_pages.amounts),
    path("amounts/changes/", amounts_pages.changes),
    path("amounts/stop/", amounts_pages.stopped),
    path("amounts/found.json", amounts_pages.as_json),
    path("amounts/found.pdf", amounts_pages.on_paper),
    path("rules/", weighing.rules),
    path("rules/rules.pdf", weighing.printed),
    path("procedures/", procedures.procedures),
    path("procedures/book.pdf", procedures.book),
    path("procedures/<uuid:key>/", procedures.procedure),
    path("procedures/<uuid:key>/compared/", procedures.compared),
    path("procedures/<uuid:key>/answers/", procedures.answers),
    path("procedures/<uuid:key>/practice/", practice.record_practice),
    path("procedures/<uuid:key>/retire/", approvals.retire),
    path("procedures/<uuid:key>/assure-again/", approvals.assure_again),
    path("procedures/<uuid:key>/sheet.pdf", approvals.sheet),
    path("procedures/<uuid:key>/start/", anteroom.start),
    path("entries/<uuid:key>/", anteroom.lead),
    path("entries/<uuid:key>/press/", anteroom.press),
    path("entries/<uuid:key>/events/", upload.upload),
    path("entries/<uuid:key>/wearer/", anteroom.wearer),
    path("entries/<uuid:key>/wearer/now/", anteroom.wearer_now),
    path("rooms/", rooms_register.register),
    path("rooms/checks/", rooms_register.checks),
    path("rooms/air/", rooms_air.air),
    path("rooms/turnaround/", rooms_air.turning),
    path("rooms/disinfectant/", rooms_disinfectant.disinfectant),
    path("rooms/waste/", rooms_waste.waste),
    path("rooms/waste/result/", rooms_waste.result),
    path("rooms/waste/release/", rooms_waste.let_go),
    path("rooms/waste/collect/", rooms_waste.collect),
    path("records/", record.records),
    path("records/<uuid:key>/", record.record),
    path("records/<uuid:key>/correct/", record.correct),
]

handler400 = "vestry.hospital.errors.bad_request"
handler403 = "vestry.hospital.errors.refused"
handler404 = "vestry.hospital.errors.not_found"
handler500 = "vestry.hospital.errors.failed"
