// The English texts of the desk. They join the app's own catalogue when the desk loads.
export default {
  "desk.nav": "The desk",

  "board.title": "Board", "board.search-hint": "Customer, serial, payer, number … ( / )", "board.show": "Which jobs", "board.open": "Open", "board.gathering": "Being gathered", "board.complete": "Complete", "board.sent": "Sent", "board.answered": "Answered", "board.disputed": "Disputed", "board.settled": "Settled", "board.return": "Parts to return",
  "board.stake": { one: "Still to come in on 1 open job:", other: "Still to come in on {n} open jobs:" }, "board.nothing": "nothing", "board.none": "There is no such job.", "board.no-day": "no last day", "board.to-come": "Still to come in:", "board.printed": "Printed {when}",
  "board.group-late": "Overdue", "board.group-week": "Within seven days", "board.group-later": "Later", "board.group-undated": "Without a last day",
  "due-what.submit": "send the claim", "due-what.return": "return the old part", "due-what.answer-payer": "answer the payer", "due-what.answer-customer": "answer the customer", "due-what.": "due",

  "keys.title": "Keys", "keys.heading": "Working by keyboard", "keys.search": "Search on the board", "keys.move": "Next and previous job; from the search into the list", "keys.open": "Open the job", "keys.leave": "Empty the search, then leave it", "keys.new": "Begin a job", "keys.board": "To the board", "keys.slide": "Move the line between two photos", "keys.zoom": "Nearer, farther, whole picture", "keys.list": "This page",
  "keys.on": "Use single keys on this device",

  "links.title": "Links to the bundle", "links.what": "Whoever has the link reads this bundle, checks it in the browser and can save it, without an account. Each opening is recorded.",
  "links.for": "Whom it is for", "links.for-payer": "the payer", "links.for-customer": "the customer", "links.for-other": "somebody else", "links.to": "Name", "links.to-hint": "A person or a desk; whoever opens the link sees it.", "links.need-to": "Say whom the link is for.",
  "links.days": "How long it works", "links.n-days": "{n} days", "links.version": "Which bundle", "links.add": "They may add a statement and pictures of their own", "links.make": "Make a link",
  "links.made": "The link for {to}. It is shown this once: copy it now.", "links.copy": "Copy the link", "links.copied": "The link is copied.", "links.hand-on": "Send it on …",
  "links.open": "open", "links.ended": "ended {day}", "links.expired": "ran out {day}", "links.made-by": "made by {who}, {when}", "links.until": "until {day}",
  "links.openings": { one: "Opened once, {when}.", other: "Opened {n} times, last {when}." }, "links.never": "Not opened yet.", "links.takes": "They may add to it.",
  "links.end": "End this link", "links.end-title": "End the link for {to}?", "links.end-text": "It opens nothing any more, at once. What was saved before can't be called back.", "links.ended-now": "The link is ended.",
};
