"""Addresses of the reports app, with the roles that may open them."""

from labsite.ledger.access import ANYONE, route
from labsite.ledger.models import Role
from reports.views import certificates, exports, issuing, trace_files, traces

SIGNATORY = {Role.SIGNATORY}
KEEPER = {Role.QUALITY}
DECIDERS = {Role.QUALITY, Role.LEAD, Role.SIGNATORY}

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
    route("traces/", traces.cases, name="traces", may=ANYONE),
    route("traces/<int:number>/", traces.case, name="trace_case", may=ANYONE),
    route("traces/<int:number>/lines.csv", trace_files.case_csv, name="trace_csv", may=ANYONE),
    route("traces/<int:number>/lines.xlsx", trace_files.case_xlsx, name="trace_xlsx", may=ANYONE),
    route("traces/<int:number>/unchanged/", traces.decide_unchanged, name="trace_unchanged", may=DECIDERS),
    route("traces/<int:number>/close/", traces.close, name="trace_close", may=KEEPER),
    route("traces/<int:number>/lines/<int:position>/", traces.decide, name="trace_decide", may=DECIDERS),
    route("instruments/<str:number>/trace/", traces.trace, name="trace", may=ANYONE),
    route("instruments/<str:number>/trace/part/", traces.trace_part, name="trace_part", may=ANYONE),
    route("instruments/<str:number>/trace/open/", traces.open_case, name="trace_open", may=KEEPER),
]
