// The English texts of the dispute screens. They join the app's own catalogue when the desk loads.
export default {
  "dispute.title": "Damage dispute", "dispute.what": "What is said, and what the record shows about it: for the shop and against it.", "dispute.none": "Nobody has said that damage was done on this job.", "dispute.letter-and-file": "Answer and file",
  "dispute.keep": "Keep", "dispute.kept": "Kept", "dispute.on-its-way": { one: "1 entry is on its way to the server. The page follows.", other: "{n} entries are on their way to the server. The page follows." },

  "view-of.fridge-front": "Refrigerator, from the front", "view-of.fridge-open": "Refrigerator, open", "view-of.washer": "Washer or dryer", "view-of.range": "Range or oven", "view-of.dishwasher": "Dishwasher", "view-of.room": "The room",
  "place.area": "Where", "place.words": "In other words …", "place.in-words": "Where, in words", "place.in-words-hint": "For example: parquet in the hall, two metres from the door.", "place.drawing": "Drawing", "place.how": "Tap the place in the drawing, or choose it from the list above: both do the same.", "place.clear": "Take the pin away",

  "allege.title": "Record what is claimed", "allege.what": "Write down what was said, in their words. Whether it is so is a different question, and the record answers it as far as it can.", "allege.where": "The place", "allege.says": "What is said",
  "allege.words": "Their words", "allege.words-hint": "As they were written or spoken.", "allege.by": "Who says so", "allege.kind": "What kind of damage", "allege.unsaid": "not said", "allege.since": "Since when", "allege.since-hint": "When it is said to have happened or been noticed.", "allege.amount": "Amount", "allege.wants": "What they ask for",
  "allege.reached": "How it reached the shop", "allege.how": "By", "allege.came": "On", "allege.reply-by": "Answer by", "allege.reply-by-hint": "The last day for an answer. It goes into the list of deadlines.",
  "allege.sent-along": "Sent along", "allege.sent-along-hint": "Pictures and letters of the other side. They are kept as received, with what their files say.", "allege.add-picture": "Add their picture", "allege.add-paper": "Add their letter", "allege.sent-by": "Sent by {who}", "allege.received": "Received with it",
  "allege.need-area": "Say where it is: choose a place or write it.", "allege.need-words": "Write what was said.",

  "received.mark": "received", "received.taken": "The file says it was taken {when}.", "received.no-date": "The file does not say when it was taken.", "received.no-zone": "It does not say in which time zone.",

  "order.which": "By which clock", "order.before": "before work", "order.after": "after work began", "order.cannot-tell": "can't be told", "order.conflicting": "times conflict",

  "claimed.title": "{n}. {area}", "claimed.reply-by": "Answer by {day}", "claimed.days-left": { one: "1 day is left.", other: "{n} days are left." }, "claimed.days-over": { one: "1 day over.", other: "{n} days over." },
  "claimed.came": "came {day}", "claimed.since": "since {day}", "claimed.finding": "What the record shows:", "claimed.for": "What says so", "claimed.against": "What speaks against the shop", "claimed.missing": "What is missing", "claimed.no-items": "No item tells.", "claimed.no-against": "Nothing on record.",
  "claimed.photos": { one: "(photo {list})", other: "(photos {list})" }, "claimed.pairs": "Before and after", "claimed.only-before": "More from before the work", "claimed.only-after": "More from after work began", "claimed.only-unplaced": "Pictures whose order can't be told",
  "claimed.theirs": "What they sent", "claimed.theirs-what": "As received: neither trusted nor doubted.",
  "claimed-state.open": "open", "claimed-state.answered": "answered", "claimed-state.offered": "an offer is out", "claimed-state.agreed": "agreed", "claimed-state.withdrawn": "withdrawn", "claimed-state.refused": "refused by the shop", "claimed-state.decided": "decided by somebody else", "claimed-state.lapsed": "lapsed",

  "pair.before": "Before", "pair.after": "After", "pair.lay-over": "Lay the later photo over the earlier one", "pair.overlay": "Laid over each other", "pair.overlay-alt": "{what}: the earlier photo, with the later one over it", "pair.wipe-label": "How far the later photo reaches", "pair.fade-label": "How strong the later photo is", "pair.how": "Compare by", "pair.wipe": "Wiping", "pair.fade": "Fading",
  "pair.marked": { one: "Mark the 1 area that differs", other: "Mark the {n} areas that differ" }, "pair.none-marked": "No area differs beyond light and noise.",

  "condition.title": "Condition record", "condition.none": "Nothing is on record about the condition.", "condition.drawing": "{view}, with the numbers of the record", "condition.add": "Add to the record", "condition.form": "Condition", "condition.choose": "choose", "condition.scale": "Measured with", "condition.not-measured": "not measured", "condition.bears": "Bears on coverage",
  "bears.yes": "Yes", "bears.no": "No", "bears.unknown": "Unknown",

  "steps.title": "Between the sides", "steps.none": "No letter, offer or payment yet.", "steps.answer-by": "Answer by {day}",
  "order-of.title": "Order of events", "order-of.scroll": "The drawing; it can be moved sideways", "order-of.alt": "Drawing of visit, work, photos, damage, signatures and the dispute in the order of time; the same is in words below", "order-of.in-words": { one: "1 event, in words", other: "{n} events, in words" },
  "proof.title": "Before work or after", "proof.counts": "{n} of {all} pictures are shown to be from before the first work.", "proof.each": "Each picture, and by which clock",

  "letter.title": "Answer letter", "letter.which": "Answers", "letter.none-open": "No allegation is open.", "letter.extras": "Goes along by choice", "letter.extras-what": "The customer's other data stays out unless it is chosen here.", "letter.hold": "Stays out of the file", "letter.exhibits": "Exhibits", "letter.no-exhibits": "There are none.",
  "letter.read-it": "A draft from the record. Read it and change it: what goes out is what stands here.", "letter.text": "The letter", "letter.no-advice": "A template, not legal advice; local rules prevail.", "letter.build": "Build the dispute file", "letter.is-built": "The dispute file is built.", "letter.link-hint": "To share it by a link that ends, use the links beside the bundles on the job's page.",
  "letter.sent": "Sent by", "letter.sent-hint": "Once it has gone out: letter, e-mail, by hand …", "letter.record-sent": "Record that it was sent",

  "settling.title": "Record a step", "settling.what": "An offer or a payment settles; it admits nothing. Each step is kept as it was made.", "settling.step": "Which step", "settling.allegations": "Concerns", "settling.offer": "The offer", "settling.no-offer": "no offer", "settling.from": "Made by", "settling.outcome": "Outcome", "settling.text": "Text of the release", "settling.text-hint": "From the shop's own template.",
  "settling.template-lacks": "Not filled in: {list}.", "settling.insurer": "Insurer", "settling.policy": "Policy number", "settling.payer": "Paid by", "settling.to": "Paid to", "settling.name": "Name", "settling.amount": "Amount", "settling.currency": "Currency", "settling.need-currency": "Write the currency in three letters, for example USD.", "settling.terms": "Terms", "settling.words": "Their words", "settling.reason": "Reason", "settling.how": "How", "settling.on": "On", "settling.reference": "Reference", "settling.answerBy": "Answer by",
  "settling.paper": "Add the paper", "settling.papers": { one: "1 paper added", other: "{n} papers added" }, "settling.need-allegation": "Say which allegation this concerns.", "settling.what-kind": "What is offered",
  "step-of.offer": "Offer", "step-of.offer-answer": "Answer to an offer", "step-of.release": "Release", "step-of.paid-out": "Payment", "step-of.insurer-notice": "Insurer told", "step-of.dispute-end": "End of it", "step-of.statement": "Statement",
  "offer-from.shop": "The shop", "offer-from.customer": "The customer", "offer-from.insurer": "The insurer",
};
