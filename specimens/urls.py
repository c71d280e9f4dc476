"""Addresses of the specimens app, with the roles that may open them."""

from labsite.ledger.access import ANYONE, route
from labsite.ledger.models import Role
from specimens.views import clients, climate, conditioning, orders, pieces, receipts

COUNTER = {Role.COUNTER, Role.LEAD, Role.TECHNICIAN}

app_name = "specimens"
urlpatterns = [
    route("counter/", orders.counter, name="counter", may=ANYONE),
    route("clients/", clients.client_list, name="clients", may=ANYONE),
    route("clients/new/", clients.new_client, name="client_new", may=COUNTER),
    route("clients/<int:pk>/", clients.client_page, name="client", may=ANYONE),
    route("clients/<int:pk>/edit/", clients.edit_client, name="client_edit", may=COUNTER),
    route("clients/<int:pk>/contacts/new/", clients.new_contact, name="contact_new", may=COUNTER),
    route("contacts/<int:pk>/edit/", clients.edit_contact, name="contact_edit", may=COUNTER),
    route("orders/new/", orders.new_order, name="order_new", may=COUNTER),
    route("orders/<str:number>/", orders.order_page, name="order", may=ANYONE),
    route("orders/<str:number>/lines/new/", orders.new_line, name="line_new", may=COUNTER),
    route("orders/<str:number>/lines/<int:position>/withdraw/", orders.withdraw, name="line_withdraw", may=COUNTER),
    route("orders/<str:number>/review/", orders.sign_review, name="review_sign", may={Role.LEAD}),
    route("orders/<str:number>/receive/", receipts.receive, name="receive", may=COUNTER),
    route("orders/<str:number>/labels.pdf", receipts.labels, name="labels", may=ANYONE),
    route("items/<str:number>/", pieces.item_page, name="item", may=ANYONE),
    route("items/<str:number>/photos/new/", pieces.new_photo, name="photo_new", may=COUNTER),
    route("items/<str:number>/hand-over/", pieces.hand_over_item, name="item_hand_over", may=COUNTER),
    route("specimens/<str:number>/", pieces.specimen_page, name="specimen", may=ANYONE),
    route("specimens/<str:number>/hand-over/", pieces.hand_over_specimen, name="specimen_hand_over", may=COUNTER),
    route("photos/<int:pk>/", pieces.photo, name="photo", may=ANYONE),
    route("deviations/<int:pk>/answer/", receipts.answer_deviation, name="deviation_answer", may=COUNTER),
]

urlpatterns += [
    route("conditioning/", conditioning.overview, name="conditioning", may=ANYONE),
    route("conditioning/stays/new/", conditioning.new_stay, name="stay_new", may=COUNTER),
    route("conditioning/stays/<int:pk>/out/", conditioning.end_stay, name="stay_out", may=COUNTER),
    route("conditioning/records/<int:pk>/", climate.record, name="climate_record", may=ANYONE),
    route("conditioning/records/<int:pk>/file/", climate.download, name="climate_file", may=ANYONE),
    route("conditioning/records/<int:pk>/withdraw/", climate.withdraw, name="climate_withdraw", may=COUNTER),
    route("conditioning/files/<int:pk>/", climate.answer, name="climate_upload", may=COUNTER),
    route("conditioning/files/<int:pk>/file/", climate.download_upload, name="climate_upload_file", may=ANYONE),
    route("conditioning/files/<int:pk>/aside/", climate.set_aside, name="climate_aside", may=COUNTER),
    route("conditioning/<str:code>/", conditioning.chamber, name="chamber", may=ANYONE),
    route("conditioning/<str:code>/record/", climate.attach, name="climate_attach", may=COUNTER),
    route("conditioning/<str:code>/stretch/", conditioning.explain_stretch, name="stretch_explain", may=COUNTER),
]
