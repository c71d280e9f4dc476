"""Addresses of the reports app, with the roles that may open them."""

from labsite.ledger.access import ANYONE, route
from labsite.ledger.models import Role
from reports.views import certificates, exports, issuing

SIGNATORY = {Role.SIGNATORY}

app_name = "reports"
urlpatterns = [
    route("calibration/by-clause.<str:ending>", exports.clause_export, name="clause_export", may=ANYONE),
    route("certificates/", certificates.certificates, name="certificates", may=ANYONE),
    route("certificates/issue/<str:number>/", issuing.issue, name="issue", may=ANYONE),
    route("certificates/issue/<str:number>/sign/", issuing.issue_sign, name="issue_sign", may=SIGNATORY),
    route("certificates/issue/<str:number>/draft.pdf", issuing.issue_draft, name="issue_draft", may=ANYONE),
    route("certificates/<str:number>/", certificates.certificate, name="certificate", may=ANYONE),
    route("certificates/<str:number>/amend/", issuing.amend, name="amend", may=SIGNATORY),
    route("certificates/<str:number>/file.pdf", certificates.certificate_pdf, name="certificate_pdf", may=ANYONE),
]
