package web

import (
	"net/http"

	"github.com/labstack/echo/v4"

	"kickplate/claims"
	"kickplate/claims/register"
)

// signedIn marks routes that everybody who is signed in may use: they concern the person's own session only.
const signedIn claims.Act = "sign in"

// route is one address of the API. Act is what it takes (asked of claims.May before the body is read, and again by the
// use-case itself); empty = nobody needs to be signed in.
type route struct {
	method, path string
	act          claims.Act
	// body is the most bytes of a body; 0 = none is read.
	body   int64
	handle echo.HandlerFunc
}

const (
	smallBody = 16 << 10
	// A full batch of the largest entries, and the list around them.
	statementBody = 64 << 10
	entriesBody   = claims.MaxBatch*(claims.MaxEntry+1) + 64
)

// routes is the one list of addresses; openapi.yaml describes the same ones.
func (s *Server) routes() []route {
	upload := s.opt.Limits.Upload
	return []route{
		{http.MethodGet, "/clock", "", 0, s.getClock},
		{http.MethodGet, "/openapi.yaml", "", 0, s.getDocument},
		{http.MethodPost, "/session", "", smallBody, s.signIn},
		{http.MethodGet, "/session", signedIn, 0, s.whoAmI},
		{http.MethodDelete, "/session", signedIn, 0, s.signOut},
		{http.MethodPut, "/session/password", signedIn, smallBody, s.setPassword},
		{http.MethodPost, "/pairings/enter", "", smallBody, s.enterPairing},
		{http.MethodPost, "/pairings", claims.ActPair, smallBody, s.makePairing},
		{http.MethodGet, "/devices", claims.ActPair, 0, s.listDevices},
		{http.MethodDelete, "/devices/:device", claims.ActPair, 0, s.removeDevice},
		{http.MethodGet, "/people", claims.ActPair, 0, s.listPeople},
		{http.MethodPost, "/people", claims.ActPeople, smallBody, s.addPerson},
		{http.MethodPut, "/people/:person", claims.ActPeople, smallBody, s.changePerson},
		{http.MethodDelete, "/people/:person", claims.ActPeople, 0, s.removePerson},
		{http.MethodPost, "/people/:person/links", claims.ActPeople, 0, s.makeLink},
		{http.MethodPut, "/originals/:sha256", claims.ActUpload, upload, s.putOriginal},
		{http.MethodHead, "/originals/:sha256", claims.ActUpload, 0, s.uploadOffset},
		{http.MethodPatch, "/originals/:sha256", claims.ActUpload, upload, s.continueUpload},
		{http.MethodGet, "/originals/:sha256", claims.ActRead, 0, s.getOriginal},
		{http.MethodGet, "/originals/:sha256/view", claims.ActRead, 0, s.getPicture(claims.DerivedView)},
		{http.MethodGet, "/originals/:sha256/thumb", claims.ActRead, 0, s.getPicture(claims.DerivedThumb)},
		{http.MethodGet, "/originals/:sha256/facts", claims.ActRead, 0, s.getFacts},
		{http.MethodPost, "/entries", claims.ActAppend, entriesBody, s.appendEntries},
		{http.MethodPost, "/entries/check", claims.ActAppend, claims.MaxEntry + 64, s.checkEntry},
		{http.MethodGet, "/jobs", claims.ActRead, 0, s.listJobs},
		{http.MethodGet, "/jobs/:job", claims.ActRead, 0, s.getJob},
		{http.MethodGet, "/jobs/:job/entries", claims.ActRead, 0, s.getEntries},
		{http.MethodGet, "/jobs/:job/check", claims.ActRead, 0, s.checkJob},
		{http.MethodGet, "/jobs/:job/chains", claims.ActRead, 0, s.getChains},
		{http.MethodGet, "/jobs/:job/clashes", claims.ActRead, 0, s.getClashes},
		{http.MethodGet, "/jobs/:job/receipt", claims.ActRead, 0, s.getReceipt},
		{http.MethodGet, "/jobs/:job/coverage", claims.ActRead, 0, s.getCoverage},
		{http.MethodGet, "/jobs/:job/bill", claims.ActRead, 0, s.getBill},
		{http.MethodGet, "/jobs/:job/account", claims.ActRead, 0, s.getAccount},
		{http.MethodGet, "/jobs/:job/draft", claims.ActRead, 0, s.getDraft},
		{http.MethodGet, "/jobs/:job/refusal", claims.ActRead, 0, s.getRefusalHelp},
		{http.MethodPost, "/jobs/:job/replies", claims.ActSend, entriesBody, s.makeReply},
		{http.MethodGet, "/jobs/:job/hold", claims.ActBuild, 0, s.getHoldChoice},
		{http.MethodPost, "/jobs/:job/bundles", claims.ActBuild, smallBody, s.buildBundle},
		{http.MethodGet, "/jobs/:job/bundles/:version", claims.ActRead, 0, s.getBundle},
		{http.MethodGet, "/jobs/:job/links", claims.ActShare, 0, s.listShares},
		{http.MethodPost, "/jobs/:job/links", claims.ActShare, smallBody, s.makeShare},
		{http.MethodDelete, "/jobs/:job/links/:link", claims.ActShare, 0, s.endShare},
		{http.MethodGet, "/register", claims.ActRead, 0, s.findInRegister},
		{http.MethodPost, "/register/preview", claims.ActImport, register.MaxFile, s.previewImport},
		{http.MethodPost, "/register", claims.ActImport, register.MaxFile, s.keepImport},
		{http.MethodDelete, "/register/:row", claims.ActImport, 0, s.removeFromRegister},
		{http.MethodGet, "/mail", claims.ActShare, 0, s.getMail},
		{http.MethodPost, "/jobs/:job/mails", claims.ActShare, statementBody, s.sendMail},
		// Nobody is signed in behind a link; the use-cases ask for its secret, or the cookie that came of it.
		{http.MethodPost, "/review/:link/open", "", smallBody, s.openReview},
		{http.MethodGet, "/review/:link/bundle", "", 0, s.getReviewBundle},
		{http.MethodGet, "/review/:link/file", "", 0, s.getReviewFile},
		{http.MethodPut, "/review/:link/pictures/:sha256", "", claims.MaxTheirs, s.putTheirs},
		{http.MethodPost, "/review/:link/statements", "", statementBody, s.addStatement},
		{http.MethodGet, "/figures/money", claims.ActRead, 0, s.getMoney},
		{http.MethodGet, "/figures/found", claims.ActRead, 0, s.getFound},
		{http.MethodGet, "/jobs/:job/alignments", claims.ActRead, 0, s.getAlignment},
		{http.MethodGet, "/jobs/:job/alignments/overlay.jpg", claims.ActRead, 0, s.getOverlay},
		{http.MethodGet, "/jobs/:job/disputes", claims.ActRead, 0, s.getDisputes},
		{http.MethodGet, "/jobs/:job/disputes/letter", claims.ActRead, 0, s.getDisputeLetter},
		{http.MethodGet, "/jobs/:job/disputes/release", claims.ActRead, 0, s.getRelease},
		{http.MethodPost, "/jobs/:job/dispute-files", claims.ActSend, entriesBody, s.buildDisputeFile},
		{http.MethodGet, "/jobs/:job/timeline.svg", claims.ActRead, 0, s.getTimeline},
		{http.MethodGet, "/jobs.csv", claims.ActRead, 0, s.export(jobsTable())},
		{http.MethodGet, "/due.csv", claims.ActRead, 0, s.export(dueTable())},
		{http.MethodGet, "/payments.csv", claims.ActRead, 0, s.export(paymentsTable())},
		{http.MethodGet, "/parts-to-return.csv", claims.ActRead, 0, s.export(returnsTable())},
		{http.MethodGet, "/people.csv", claims.ActPair, 0, s.export(peopleTable())},
		{http.MethodGet, "/devices.csv", claims.ActPair, 0, s.export(devicesTable())},
		{http.MethodGet, "/jobs/:job/entries.csv", claims.ActRead, 0, s.export(entriesTable())},
		{http.MethodGet, "/jobs/:job/account.csv", claims.ActRead, 0, s.export(accountTable())},
		{http.MethodGet, "/due", claims.ActRead, 0, s.listDue},
		{http.MethodGet, "/calendar.ics", claims.ActRead, 0, s.getCalendar},
		{http.MethodGet, "/calendar/address", claims.ActRead, 0, s.getCalendarAddress},
		{http.MethodPost, "/calendar/address", claims.ActRead, smallBody, s.makeCalendarAddress},
		{http.MethodDelete, "/calendar/address", claims.ActRead, 0, s.dropCalendarAddress},
		{http.MethodGet, "/rates", claims.ActRead, 0, s.getRates},
		{http.MethodPut, "/rates", claims.ActRates, entriesBody, s.setRates},
		{http.MethodGet, "/privacy/customer", claims.ActExport, 0, s.getCustomerJobs},
		{http.MethodPost, "/privacy/exports", claims.ActExport, smallBody, s.exportCustomer},
		{http.MethodPost, "/privacy/erasures/preview", claims.ActErase, smallBody, s.previewErasure},
		{http.MethodPost, "/privacy/erasures", claims.ActErase, smallBody, s.erase},
		{http.MethodGet, "/privacy/retention", claims.ActErase, 0, s.getRetention},
		{http.MethodPut, "/privacy/retention", claims.ActErase, smallBody, s.setRetention},
		{http.MethodPost, "/privacy/retention/proposals", claims.ActErase, 0, s.proposeRetention},
		{http.MethodPost, "/privacy/retention/runs", claims.ActErase, entriesBody, s.carryRetention},
		{http.MethodGet, "/packs", claims.ActRead, 0, s.listPacks},
		{http.MethodGet, "/packs/:pack", claims.ActRead, 0, s.getPack},
		{http.MethodGet, "/vocabulary", claims.ActRead, 0, s.getVocabulary},
		{http.MethodGet, "/shop", claims.ActRead, 0, s.getShop},
		{http.MethodPut, "/shop", claims.ActPeople, smallBody, s.setShop},
		{http.MethodGet, "/log/checkpoint", claims.ActCustody, 0, s.getCheckpoint},
		{http.MethodGet, "/log/proof", claims.ActCustody, 0, s.getProof},
		{http.MethodGet, "/log/consistency", claims.ActCustody, 0, s.getConsistency},
	}
}
