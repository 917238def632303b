// The English texts. {name} is filled in; a text with one/other is picked by the number n.
export default {
  again: "Try again", cancel: "Cancel", close: "Close", yes: "Yes", no: "No", loading: "One moment …", correct: "Correct this",
  corrected: "Corrected {when} by {by}: {why}",
  "frame.skip": "Skip to the content", "frame.back": "Back", "frame.next-steps": "Next steps",

  "api.no-answer": "The server does not answer. Everything is kept on this phone; it is sent when there is a connection.",
  "api.fault": "Something went wrong on the server ({status}). Try again in a moment.",

  "status.name": "What has been sent", "status.all-sent": "All sent", "status.sending": "{waits}, sending", "status.no-answer": "{waits}. No connection; it is sent by itself as soon as there is one.",
  "status.trouble": "{waits}. {says}", "status.refused": { one: "1 entry was refused. Look at it.", other: "{n} entries were refused. Look at them." },
  "status.sign-in": "You are signed out. Sign in again.", "status.sign-in-to-send": "{waits}. Sign in again to send it.",
  "status.insecure": "Opened without a secure connection: nothing can be kept on this phone.", "status.progress": "Sent so far",

  "update.ready": "A new version is here. Nothing you have kept is lost.", "update.reload": "Load it",

  "insecure.title": "Not a secure connection",
  "insecure.text": "This page was opened over plain http. Browsers then allow no work without signal, no camera and no safe keeping of photos. Open it by its https address. If the shop has no address of its own, let the phone trust the shop's server once.",
  "insecure.how": "How to let this phone trust the shop's server",

  "enter.title": "Sign in", "enter.how": "On a phone it is easier with a code: somebody in the office opens “This phone”, “Let another phone in”, and you scan the code with the phone's camera.",
  "enter.person": "Your name in the shop", "enter.password": "Password", "enter.do": "Sign in",
  "enter.link-title": "Welcome", "enter.link-text": "This link lets you in once. Set a password afterwards, under “This phone”.", "enter.link-do": "Come in",
  "enter.pair-title": "Let this phone in", "enter.pair-text": "The office showed you a code. With it this phone can keep and send work in your name until the office cuts it off.", "enter.pair-do": "Let this phone in",
  "enter.device-name": "A name for this phone", "enter.device-hint": "So that the office can tell it from others.", "enter.this-phone": "My phone", "enter.this-computer": "Desk",

  "jobs.title": "Jobs", "jobs.new": "New job", "jobs.search": "Find a job", "jobs.search-hint": "Customer, serial, part, number …", "jobs.order": "Order", "jobs.board": "Board",
  "jobs.order-changed": "Latest", "jobs.order-due": "Due first", "jobs.order-opened": "Newest", "jobs.stale": "No connection. These are the jobs on this phone.",
  "jobs.none": "There are no jobs yet. Begin one below.", "jobs.none-found": "Nothing found. Try fewer letters.", "jobs.none-due": "Nothing is due.", "jobs.more": "Show more",
  "jobs.no-customer": "No customer yet", "jobs.changed": "Last entry {day}, {time}", "jobs.no-pack": "No checklist fits yet", "jobs.complete": "Nothing missing",

  "due.left": { one: "1 day left", other: "{n} days left" }, "due.today": "today", "due.late": { one: "1 day late", other: "{n} days late" },

  "job.title": "Job", "job.about": "What it is about", "job.customer": "Customer", "job.site": "Address", "job.unit": "Unit", "job.maker": "Maker", "job.model": "Model", "job.serial": "Serial",
  "job.unreadable": "Plate unreadable", "job.coverage": "Who pays", "job.payer": "Payer", "job.claim-number": "Claim number", "job.authorisation": "Authorisation", "job.purchased": "Purchased", "job.appointment": "Appointment",
  "job.visit": "Visit", "job.visit-on": "Go on with the visit", "job.not-here": "This job is not on this phone yet, and there is no connection.",
  "job.stale": "No connection. This is the job as this phone knows it.",

  "visits.title": "Visits", "visits.still-there": "still there", "visits.left-open": { one: "Left with 1 thing open:", other: "Left with {n} things open:" }, "visits.return": "Another visit is needed",

  "check.title": "Checklist", "check.gaps": { one: "1 missing", other: "{n} missing" }, "check.doubts": { one: "1 to look at", other: "{n} to look at" },
  "check.met": { one: "1 shown", other: "{n} shown" }, "check.settled": { one: "1 settled", other: "{n} settled" }, "check.why": "Why this is asked", "check.advised": "advised, not required", "check.due": "Last day {day}", "check.none-open": "nothing open",
  "outcome.gap": "Missing", "outcome.doubt": "To look at", "outcome.met": "Shown", "outcome.waived": "Waived", "outcome.not-needed": "Not needed",

  "missing.title": "Still missing", "missing.none": "Nothing is missing. You can leave with a clear conscience.",

  "photos.title": "Photos", "photos.count": { one: "1 photo", other: "{n} photos" }, "photos.none": "No photos yet.", "photos.look": "look at it", "photos.unsent": "not sent yet", "photos.previous": "Previous photo", "photos.next": "Next photo",
  "photos.taken": "Taken", "photos.place": "Where", "photos.by": "By", "photos.received": "Received", "photos.file": "File", "photos.legible": "Legible", "photos.dark": "dark", "photos.bright": "washed out", "photos.sharpness": "(sharpness {n})",
  "photos.codes": "Codes read", "photos.alike": "Seen before", "photos.same": "The same file is in another job", "photos.similar": "Looks like a photo of another job", "photos.original": "Download the original",
  "sharp.yes": "Sharp", "sharp.no": "Blurred", "sharp.doubt": "Hard to tell",
  "time.corroborated": "time corroborated", "time.consistent": "time consistent", "time.single-source": "time from one source", "time.conflicting": "times conflict",

  "twin.title": "Before and after", "twin.before": "Before", "twin.after": "After", "twin.wide": "Wide", "twin.close": "Close", "twin.before-is": "before: {n}", "twin.after-is": "after: {n}", "twin.wide-is": "wide: {n}", "twin.close-is": "close: {n}", "twin.all": "Show all {n} pairs", "photos.all": "All photos",
  "around.title": "Look around", "around.title-leave": "Look around once more", "around.do": { one: "Look around: 1 picture", other: "Look around: {n} pictures" }, "around.do-leave": { one: "The same view again: 1 picture", other: "The same views again: {n} pictures" }, "around.progress": "{n} of {all}: {what}", "around.views": "The views", "around.taken": "taken",
  "around.shoot": "Photograph: {what}", "around.skip": "Not this one", "around.same-spot": "Stand where you stood before: the two pictures are kept as a pair.", "around.no-before": "There is no picture of this from before work.", "around.overview": "Say for each place whether you saw damage there. What is not said stays open.",
  "around.none": "No damage seen here", "around.none-kept": "{what}: no damage seen", "around.damage": "Damage here", "around.take": "Take the picture", "around.not-taken": "Not taken", "around.inside": "Inside, where the work will be",
  "around.hint-way-in": "From the door to the unit, the way it comes out if it has to.", "around.hint-floor": "The floor before the unit, all of it.", "around.hint-left-side": "The left side, with the cabinet or wall beside it.", "around.hint-right-side": "The right side, with the cabinet or wall beside it.", "around.hint-front": "The whole front, doors closed, from a step back.", "around.hint-other": "Wide enough to see where it is.",
  "photos.marks": "Marks", "photos.marks-on": { one: "1 mark, drawn over the picture.", other: "{n} marks, drawn over the picture." }, "photos.mark": "Point something out", "photos.compare": "Compare two photos", "photos.bare": "Without marks",
  "mark.title": "Point something out", "mark.no-photo": "This photo is not on this job.", "mark.tool": "What to draw", "mark.arrow": "Arrow", "mark.ring": "Ring", "mark.words": "Words", "mark.text": "Words beside it", "mark.text-hint": "For example: burnt through here.",
  "mark.how-arrow": "Tap where the arrow begins, then where it points. Or draw it in one stroke.", "mark.how-tap": "Tap the place in the picture.", "mark.now-tip": "Now tap where the arrow points.", "mark.middle": "Place it in the middle", "mark.undo": "Undo the last",
  "mark.move": "Move the last one", "mark.move-what": "What moves", "mark.move-all": "All of it", "mark.move-tip": "The tip", "mark.move-end": "The other end", "mark.left": "To the left", "mark.up": "Up", "mark.down": "Down", "mark.right": "To the right",
  "mark.keep": "Keep the marks", "mark.kept": "Marks kept", "mark.none": "Draw something first.", "mark.most": "A picture takes at most 100 marks.", "mark.need-words": "Write the words first, then tap where they go.", "mark.changed": "Marks changed", "mark.layer": "Marks lie over the picture. The photo itself stays as it was taken.",
  "clip.take": "Film it, up to {n} s", "clip.kept": "Clip kept", "clip.kind": "This kind of recording is not taken. Send films as MP4 or MOV, sound as M4A.", "clip.too-long": "The clip is {n} seconds long; at most {most} are kept. Take a shorter one, of what matters.",
  "view.title": "Series, or match an earlier picture", "view.what": "The camera on this page: for several pictures in a row, or with the outline of an earlier picture over it.", "view.open": "Show the camera here", "view.name": "What the camera sees", "view.take": "Take it", "view.close": "Close the camera", "view.matched": "After the repair, matched to before",
  "view.match": "Match an earlier picture", "view.match-hint": "Its outline lies over the camera, and the two are kept as a pair.", "view.match-none": "None", "view.refused": "The browser was not allowed to use the camera. Allow it in the browser's settings, or use the button below, which opens the phone's own camera.", "view.none": "The browser did not get at a camera. Use the button below, which opens the phone's own camera.", "view.no-outline": "The earlier picture is not on this phone yet. Its outline comes as soon as there is a connection.",

  "seen.title": "What was seen", "seen.add": "Something seen or heard", "seen.what": "What is seen or heard", "seen.words": "In words", "seen.photo": "Photograph it", "seen.photo-kept": "Photo kept; again", "seen.need": "Choose what it is.",
  "sign-of.coil-even-frost": "thick, even frost over all of it", "sign-of.coil-partial-frost": "frost on the first passes only", "sign-of.coil-bare": "no frost at all", "sign-of.fan-stopped": "stands still while it should run", "sign-of.blade-on-ice": "the blade strikes ice", "sign-of.door-ajar": "did not close", "sign-of.gasket-gap": "a gap, light or paper passes",
  "sign-of.drain-blocked": "the drain is blocked", "sign-of.floor-ice": "sheet ice on the floor", "sign-of.items-freeze": "food freezes", "sign-of.damper-iced": "iced up", "sign-of.defrost-ends-early": "defrost ends before it is clear", "sign-of.heater-cold": "told to heat and stays cold", "sign-of.vent-restricted": "blocked, crushed or too long",
  "sign-of.compressor-silent": "called for and does not start", "sign-of.not-draining": "water stays in the machine", "sign-of.blockage-found": "something was stuck in it", "sign-of.not-filling": "no water comes",

  "readings.title": "Readings", "readings.display": "Display on photo {n}", "readings.no-display": "No photo of the display",
  "verdict.in-tolerance": "in tolerance", "verdict.out-of-tolerance": "out of tolerance", "verdict.cannot-decide": "cannot decide", "verdict.not-plausible": "not plausible", "verdict.supports": "supports the part",

  "parts.title": "Parts", "parts.serial": "serial {serial}", "parts.invoice": "invoice {number}",
  "part.removed": "taken out", "part.fitted": "fitted", "part.replaced": "replaced", "part.add": "Record a part", "part.component": "Which part", "part.action": "What was done", "part.number": "Part number", "part.description": "Description",
  "part.serial": "Serial of the new part", "part.old-serial": "Serial of the old part", "part.quantity": "How many", "part.price": "Price of one", "part.invoice": "Invoice number", "part.original": "Is it the maker's own part?", "part.held": "Where is the old part?",
  "part.pictures": "Pictures", "part.need-component": "Choose which part it is.", "part.quantity-wrong": "Give the number of parts as a whole number, 1 or more.",

  "damage.title": "Damage", "damage.none": "nothing seen", "damage.said": "{by} said: “{said}”", "damage.somebody": "Somebody", "damage.found": "Damage found on arrival", "damage.during": "Damage during the work", "damage.leaving": "Damage on leaving",
  "damage.neutral": "Write what is to be seen, not who did it. Pick “nothing seen” to record that a place was looked at and is sound.",
  "damage.area": "Where", "damage.area-hint": "For example: floor in front of the unit, left door, lower edge.", "damage.kind": "What is to be seen", "damage.seen": "Seen", "damage.pictures": "Pictures, wide and close",
  "damage.scale": "Lay a coin or a ruler beside it, so that the size can be told.", "damage.wide": "Wide: where it is", "damage.close": "Close: what it is", "damage.width": "Width in mm", "damage.height": "Height in mm",
  "damage.words": "In words", "damage.words-hint": "For example: scratch along the grain, edges dull.", "damage.said-by": "Who said something about it", "damage.said-words": "What they said",
  "damage.keep": "Keep", "damage.kept": "Kept", "damage.need-area": "Say where it is.", "damage.need-kind": "Choose what is to be seen, or “nothing seen”.", "damage.photo-added": "Picture added",

  "signs.title": "Signatures", "signs.shown": { one: "1 picture was on the screen.", other: "{n} pictures were on the screen." },
  "sign.title": "Signature", "sign.about": "What is it about?", "sign.outcome": "How does it end?", "sign.outcome-signed": "Customer signs", "sign.outcome-declined": "Customer declines", "sign.outcome-absent": "Customer not present",
  "sign.name": "Name of the person who signs", "sign.role": "Who that is", "sign.customer": "Customer", "sign.here": "Sign here with a finger or a pen", "sign.drawn": "Signature", "sign.clear": "Clear", "sign.keep": "Keep", "sign.kept": "Kept",
  "sign.reason": "Why there is no signature", "sign.reason-declined": "In the person's own words, if they gave any.", "sign.reason-absent": "For example: the key was with the caretaker.",
  "sign.need-strokes": "Let the person sign in the field, or choose another ending.", "sign.need-name": "Write down who signed.", "sign.need-reason": "Say in a few words why there is no signature.",
  "sign.damage": "Signature for damage found on arrival", "sign.work": "Signature for the work",
  "sign.statement-damage-on-arrival": "I have seen these pictures. What they show was so before work began.", "sign.statement-damage-during-work": "I have seen these pictures. This happened during the work.",
  "sign.statement-estimate": "I have been told what the work is expected to cost and agree that it begins.", "sign.statement-work-done": "The work was done and shown to me.",
  "sign.statement-water-shut-off": "The water was shut off for the work and opened again; I was told so.", "sign.statement-gas-shut-off": "The gas was shut off for the work and opened again by a person licensed for it; I was told so.",
  "legal.note": "This is a record of what was shown and said. It is not legal advice.",

  "narrative.title": "Complaint, cause, correction", "narrative.complaint": "Complaint", "narrative.cause": "Cause", "narrative.correction": "Correction",
  "work.title": "Labour and travel", "work.labour": "Labour", "work.minutes": { one: "1 minute", other: "{n} minutes" }, "work.trip": "Trip", "work.minutes-label": "Minutes worked", "work.flat": "Or the code of a flat-rate job", "work.says": "What for", "work.amount": "Amount",
  "work.distance": "Distance", "work.zone": "Or the travel zone", "work.need-minutes": "Give the minutes worked as a whole number, or the code of a flat-rate job.", "work.distance-wrong": "Give the distance as a number, such as 12.5.", "work.need-distance": "Give the distance or the travel zone.",

  "events.title": "What happened", "events.count": { one: "1 event in order", other: "{n} events in order" }, "notes.title": "Notes", "notes.add": "Write a note",
  "event.arrived": "Arrived", "event.left": "Left", "event.work-started": "Work started", "event.work-finished": "Work finished", "event.photo": "Photo {n}: {what}", "event.reading": "Reading: {what} {value}", "event.seen": "Seen: {what}", "event.marked": "Photo {n} marked", "event.part": "{what} {action}",
  "event.damage": "Damage, {area}: {kind}", "event.sign": "{what}: {outcome}", "event.caution": "Caution shown: {what}", "event.waive": "Requirement {what} waived: {why}", "event.built": "Bundle {n} built", "event.fetched": "Bundle {n} fetched",
  "event.sent": "Claim sent to {to}", "event.answer": "Payer's answer: {what}", "event.allege": "Allegation: “{words}”", "event.struck": "An entry ({kind}) was struck: {why}", "event.unknown": "An entry of an unknown kind ({kind})",
  "answer.paid": "paid", "answer.paid-short": "paid short", "answer.refused": "refused", "answer.question": "a question",

  "bundle.title": "Claim bundle", "bundle.what": "One ZIP with the report, the photos byte for byte, the readings and the proofs. Anybody can check it without this program.",
  "bundle.open": { one: "1 required thing is still open", other: "{n} required things are still open" }, "bundle.unsent": { one: "1 entry is not sent yet; the bundle is built when all is sent", other: "{n} entries are not sent yet; the bundle is built when all is sent" },
  "bundle.hold": "Leave out of the bundle", "bundle.hold-customer": "customer's details", "bundle.hold-position": "positions", "bundle.build": "Build the bundle", "bundle.build-again": "Build it again as it stands now", "bundle.is-built": "The bundle is built.",
  "bundle.version": "Bundle {n}", "bundle.complete": "complete", "bundle.incomplete": "with gaps", "bundle.held-back": "left out: {what}", "bundle.download": "Download",

  "step.shoot": "Photograph: {what}", "step.read": "Take the reading", "step.sign": "Get the signature", "step.part": "Complete the part", "step.caution": "Show the caution", "step.cause": "Write the cause", "step.correction": "Write the correction",
  "step.field": "Fill this in", "step.compare": "Compare and correct", "step.refrigerant": "Record refrigerant", "step.labour": "Record labour", "step.trip": "Record the trip",

  "visit.title": "Visit", "visit.stages": "Stages of the visit", "visit.not-there": "Press this when you stand at the unit. Pictures before work count from here.", "visit.left-before": "The last visit has ended. Press this when you are back at the unit.",
  "visit.arrive": "I have arrived", "visit.arrived": "Arrival kept", "visit.since": "here since {time}", "visit.next": "{stage}", "visit.back": "Back to the visit", "visit.stage-done": "Nothing open here", "visit.more": "Also here",
  "visit.work-start": "Work starts now", "visit.work-started": "Start of work kept", "visit.work-finish": "Work is finished", "visit.work-finished": "End of work kept", "visit.too-late": "It should have come before: {event}",
  "suspect.title": "Before a part comes off", "suspect.pick": "I suspect this part", "suspect.none": "No part", "suspect.what": "If it is replaced, the payer will ask for this as well. Some of it can only be shown while the old part is in.", "suspect.nothing": "Nothing more would be asked for.",
  "caution.title": "Caution", "caution.seen": "I have read this",

  "shoot.title": "{what}", "shoot.do": "Open the camera", "shoot.another": "One more", "shoot.close": "Now the close one", "shoot.now-close": "The wide picture is kept. Now go close to the same place.", "shoot.next": "Next: {what}", "shoot.keeping": "Keeping …",
  "shoot.kept": { one: "Photo kept", other: "{n} photos kept" }, "shoot.what": "What it shows", "shoot.subject": "What it shows", "shoot.component": "Which part it concerns", "shoot.no-component": "The whole unit, or none", "shoot.area": "Place", "shoot.area-hint": "For example: left side, floor in front.", "shoot.caption": "In words",
  "shoot.gallery": "Choose from this device", "shoot.other": "Another photo", "shoot.just-taken": "The photo just taken", "shoot.looking": "Looking whether it is sharp …", "shoot.good": "Sharp and well lit", "shoot.doubt": "Look closely: can everything be read?",
  "shoot.blurred": "It looks blurred. Hold still, wipe the lens, go closer, and take it again.", "shoot.dark": "It is too dark. Use the torch and take it again.", "shoot.bright": "It is washed out. Turn away from the light and take it again.",
  "shoot.same-again": "It looks like a picture you have already taken of this.", "shoot.same-bytes": "This very file is already in this job.", "shoot.retake": "Take it again", "shoot.retaken": "Taken again", "shoot.withdraw": "Withdraw it", "shoot.withdrawn": "Withdrawn right after it was taken",

  "read.title": "Reading", "read.what": "What is measured", "read.component": "Where", "read.quantity": "What is measured", "read.pick": "Choose …", "read.moment": "When", "read.where": "Where the probes sit", "read.where-hint": "For example: at the heater's terminals, unplugged.",
  "read.pad": "Keypad", "read.typed": "What the meter shows", "read.erase": "Erase", "read.sign": "Plus or minus", "read.unit": "Unit", "read.verdict": "What it means", "read.keep": "Keep the reading", "read.kept": "{value} kept", "read.nothing": "Type what the meter shows.",
  "read.display": "Photograph the display", "read.display-kept": "Display kept; again", "read.display-added": "Picture of the display added", "read.another": "Another reading", "read.as-left": "Reading as left",
  "read.no-core": "The meaning of the reading is shown when the rules have loaded.", "read.no-model": "No values are known to hold this against. It is kept as it is.", "read.judge-by": "Held against", "read.profile": "Values", "read.plan-profile": "Those of the checklist", "read.no-profile": "None",
  "read.own": "The maker's sheet: {model}", "read.own-source": "the maker's service sheet, as entered", "read.rated-watts": "Rated watts", "read.rated-volts": "Rated volts", "read.tolerance": "Tolerance in %", "read.nominal": "Nominal value in µF", "read.low": "From (Ω)", "read.high": "To (Ω)",
  "term.over-range": "OL (over range)", "term.open": "open", "term.closed": "closed (beeps)", "term.complete": "complete", "term.settled": "settled", "term.booked": "booked", "term.on-site": "on site", "term.gathering": "being gathered", "term.sent": "sent", "term.paid": "paid", "term.refused": "refused", "term.disputed": "disputed",

  "condition.circuit": "Circuit", "condition.circuit.isolated": "one end off", "condition.circuit.in-circuit": "still wired in", "condition.load": "Load", "condition.load.no-load": "nothing running", "condition.load.under-load": "running",
  "condition.compressor": "Compressor", "condition.compressor.running": "running", "condition.compressor.off": "off", "condition.command": "Told to run", "condition.command.on": "yes", "condition.command.off": "no", "condition.rotation": "Fan", "condition.rotation.turning": "turning", "condition.rotation.stopped": "stopped",
  "condition.blade": "Blade", "condition.blade.free": "free", "condition.blade.blocked": "blocked", "condition.position": "Switch", "condition.position.actuated": "pressed", "condition.position.released": "released",
  "condition.history": "Temperature came", "condition.history.from-above": "down from warm", "condition.history.from-below": "up from cold", "condition.side": "Side", "condition.side.low": "low", "condition.side.high": "high",
  "condition.partTemperature": "Temperature of the part", "condition.start": "Temperature at the start", "condition.sinceStart": "Time since the start", "condition.noLoad": "Voltage with nothing running", "condition.leadResistance": "Resistance of the leads", "condition.pressure": "Gauge pressure", "condition.supply": "Supply voltage",
  "condition.between": "Between which terminals", "condition.between-hint": "For example C-S.", "condition.also": "The other windings, in ohms", "condition.also-hint": "For example: C-R 3.2, R-S 8.1",

  "chains.title": "Devices",
  "kind.built": "Bundle built", "kind.fetched": "Bundle opened", "kind.shared": "Link made", "kind.unshared": "Link ended", "kind.link-statement": "Said over a link",
  "csv.list": "Save as a list (CSV)", "csv.due": "What is due (CSV)", "csv.payments": "Payments (CSV)", "csv.parts": "Parts to return (CSV)", "csv.entries": "All entries (CSV)",
  "receipt.title": "Receipt for the customer", "receipt.what": "A code of the shop's log as it stands. Whoever keeps it can show later that nothing before it was changed. It holds no names and no pictures.",
  "receipt.make": "Make the receipt", "receipt.again": "Make it anew", "receipt.print": "Print", "receipt.qr": "QR code of the signed checkpoint",
  "office.title": "Coverage and amounts", "office.covered": "Covered", "office.partly": "Partly covered", "office.not-covered": "Not covered", "office.cannot-say": "Cannot say", "office.changes": "What would change this",
  "office.total": "Together", "office.by-payer": "payer {amount}", "office.by-customer": "customer {amount}", "office.by-shop": "shop {amount}", "office.in-doubt": "{amount} in doubt",
  "leave.title": "Leave", "leave.do": "Leave", "leave.anyway": "Leave all the same", "leave.done": "Leaving kept", "leave.complete": "Nothing is missing.", "leave.unchecked": "This phone has not checked the job yet, so it can't say whether something is missing.", "leave.open": { one: "1 thing is still missing", other: "{n} things are still missing" },
  "leave.open-text": "Most of this can't be shown later. You can leave all the same; then say why, and it is kept with the visit.", "leave.reason": "Why it stays open", "leave.reason-hint": "For example: part on order, customer had to leave.", "leave.need-reason": "Say why you leave while something is missing.",
  "leave.return": "Another visit is needed", "leave.not-there": "No visit has begun, so there is nothing to leave.",

  "new.title": "New job", "new.complaint": "What the customer says is wrong", "new.complaint-hint": "In the customer's words.", "new.kind": "Kind of unit", "new.pick-kind": "Not known yet", "new.phone": "Phone", "new.number": "Job number", "new.do": "Begin the job", "new.kept": "Job kept", "new.need-complaint": "Write down what the customer says is wrong.",

  "write.title": "Write", "write.unknown": "There is no such form.", "write.note": "Note", "write.sign": "Something seen or heard", "write.cause": "Cause", "write.correction": "Correction", "write.part": "Part", "write.papers": "Plate and papers", "write.labour": "Labour", "write.trip": "Trip", "write.refrigerant": "Refrigerant",
  "write.note-text": "Note", "write.cause-text": "What was found to be at fault", "write.cause-hint": "Name the part and what shows it: “Defrost heater open, OL at its terminals”.", "write.correction-text": "What was done about it", "write.correction-hint": "Name the part that was fitted and the result.",
  "write.keep": "Keep", "write.correct": "Keep the correction", "write.kept": "Kept", "write.nothing": "There is nothing new to keep.", "write.why": "Why it is corrected", "write.why-hint": "The earlier version stays to be seen.", "write.need-why": "Say in a few words why this is corrected.",
  "write.amount-wrong": "Give the amount as a number, such as 45.50.", "write.no-currency": "The shop has no currency set; leave the amount out or ask the owner to set it.",

  "meanwhile.title": "Somebody else has changed this", "meanwhile.what": "Since you opened this form, it was changed by {by}. Choose what is right; the other stays to be seen in the journal.", "meanwhile.somebody": "somebody", "meanwhile.mine": "Yours", "meanwhile.theirs": "Theirs", "meanwhile.empty": "(empty)", "meanwhile.choose": "Choose one for each.", "meanwhile.keep": "Keep what I chose", "meanwhile.look": "Back to the form",

  "papers.title": "Plate and papers", "papers.plate": "Type the plate", "papers.note": "Only what you change is kept, as a new entry.", "papers.unit": "Unit and rating plate", "papers.coverage": "Who pays, as the papers say", "papers.customer": "Customer", "papers.site": "Site", "papers.open": "Job", "papers.unknown": "Not known",
  "papers.unit.kind": "Kind of unit", "papers.unit.maker": "Maker", "papers.unit.model": "Model number", "papers.unit.serial": "Serial number", "papers.unit.usage": "Use", "papers.unit.refrigerant": "Refrigerant on the plate", "papers.unit.supplyVolts": "Rated volts on the plate", "papers.unit.manufactured": "Made (year, month or day)", "papers.unit.unreadable": "Why the plate can't be read",
  "papers.coverage.kind": "Who pays", "papers.coverage.payer": "Payer's name", "papers.coverage.number": "Claim or contract number", "papers.coverage.authorisation": "Authorisation number", "papers.coverage.serial": "Serial on the payer's paper", "papers.coverage.model": "Model on the payer's paper", "papers.coverage.startEvent": "Cover begins with", "papers.coverage.purchased": "Date of purchase, as proven", "papers.coverage.installed": "Date of installation, as proven", "papers.coverage.pack": "Checklist, if not the usual one",
  "papers.customer.name": "Name", "papers.customer.phone": "Phone", "papers.customer.email": "E-mail", "papers.site.address": "Address", "papers.open.complaint": "Complaint in the customer's words", "papers.open.number": "Job number", "papers.open.appointment": "Appointment (YYYY-MM-DD)",
  "usage.household": "Household", "usage.commercial": "Commercial", "start.purchase": "Purchase", "start.installation": "Installation", "start.manufacture": "Manufacture",
  "refrigerant.note": "Only for people certified for it. Recover, don't vent, unless the law where you stand permits it for this refrigerant. The maker's instructions and local codes come first.",
  "refrigerant.type": "Refrigerant", "refrigerant.recovered": "recovered", "refrigerant.charged": "charged", "refrigerant.vented-as-permitted": "vented as permitted", "refrigerant.grams": "Grams", "refrigerant.method": "Method", "refrigerant.certificate": "Your certificate", "refrigerant.need": "Give the refrigerant and its mass in grams.",

  "outbox.title": "Outbox", "outbox.waiting": { one: "1 waiting ({size})", other: "{n} waiting ({size})" }, "outbox.empty": "All is sent and safely kept on the server.", "outbox.send-now": "Send now", "outbox.kept-here": "Nothing is lost: it is all kept on this phone.",
  "outbox.refused": { one: "Refused by the server", other: "{n} refused by the server" }, "outbox.again": "Send again", "outbox.job": "Open the job", "outbox.discard": "Delete", "outbox.discard-title": "Delete this entry for good?", "outbox.discard-text": "It is only on this phone. Once deleted, it and its photo are gone.", "outbox.discard-do": "Delete it", "outbox.discarded": "Deleted",
  "outbox.of": "{done} of {all}", "outbox.photo-progress": "Sent of this photo", "outbox.signed-out": "You are signed out. Everything stays here until you sign in again.",
  "kind.open": "Job opened", "kind.customer": "Customer", "kind.site": "Site", "kind.unit": "Unit", "kind.coverage": "Who pays", "kind.arrive": "Arrival", "kind.work-start": "Start of work", "kind.work-finish": "End of work", "kind.leave": "Leaving", "kind.photo": "Photo", "kind.markup": "Mark-up", "kind.reading": "Reading", "kind.sign": "Something seen", "kind.cause": "Cause", "kind.correction": "Correction", "kind.damage": "Damage", "kind.part": "Part", "kind.part-return": "Old part", "kind.refrigerant": "Refrigerant", "kind.labour": "Labour", "kind.trip": "Trip", "kind.acknowledge": "Signature", "kind.note": "Note", "kind.caution-shown": "Caution shown", "kind.waive": "Waiver", "kind.strike": "Withdrawal", "kind.send": "Claim sent", "kind.answer": "Payer's answer", "kind.allege": "Allegation", "kind.payment": "Payment", "kind.reply": "Reply to a refusal", "kind.settle": "Claim closed", "kind.statement": "Statement", "kind.respond": "Answer to an allegation", "kind.offer": "Offer", "kind.offer-answer": "Answer to an offer", "kind.release": "Release", "kind.paid-out": "Paid out", "kind.insurer-notice": "Insurer told", "kind.dispute-end": "Dispute closed", "kind.billed": "Bill drawn up", "kind.cover": "Cover over a photo", "kind.hold": "Hold on erasure", "kind.erase": "Erasure", "kind.exported": "Copy of the data handed out", "kind.examined": "Photo examined", "kind.codes": "Codes looked for", "kind.likeness": "Similar photo found",

  "record.sign-in": "Sign in first: an entry carries the name of who made it.", "record.no-room": "This phone has no room left, so it was not kept. Delete something from the phone or send what waits, then do it again.",
  "intake.empty": "The file is empty. Take the picture again.", "intake.too-large": "The file has {size}; at most {most} are taken. Take a smaller picture or a shorter clip.", "intake.unreadable": "The phone did not hand over the file. Take the picture again.",

  "install.heading": "Put it on the home screen", "install.title": "Put Kickplate on the home screen", "install.why": "Then it opens like an app, also without signal.", "install.why-apple": "iPhone and iPad delete what a web page has kept after seven days without use, unless the page is on the home screen. Put it there, and your unsent work stays.",
  "install.how": "Show me how", "install.later": "Later", "install.do": "Put it on the home screen", "install.done": "It is on the home screen.", "install.other": "Open the browser's menu and choose “Install app” or “Add to home screen”.",
  "install.apple-1": "Tap the share button, the square with the arrow.", "install.apple-2": "Choose “Add to Home Screen”.", "install.apple-3": "Open Kickplate from there and sign in again if it asks.",
  "room.title": "Room on this phone", "room.numbers": "Used: {used}. Free for Kickplate: about {free}, or some {photos} photos.", "room.low": "Only {free} are left for photos on this phone. Delete something, or send what waits, before the next visit.",
  "room.persisted": "The browser will not delete what is kept here", "room.refused": "The browser has not agreed yet. Put Kickplate on the home screen, use it for some days, and ask again.", "room.may-evict": "The browser may delete what is kept here when the phone runs out of room.", "room.may-evict-install": "The browser may delete what is kept here: when the phone runs out of room, on iPhone also after seven days without use. Put Kickplate on the home screen.", "room.ask": "Ask the browser to keep it",

  "phone.title": "This phone", "phone.shop": "Shop", "phone.role": "Role", "phone.device": "Device", "phone.clock": "Clock", "phone.clock-good": "agrees with the server's", "phone.clock-fast": { one: "1 second fast; it is taken into account", other: "{n} seconds fast; it is taken into account" }, "phone.clock-slow": { one: "1 second slow; it is taken into account", other: "{n} seconds slow; it is taken into account" }, "phone.clock-unknown": "not compared with the server's yet",
  "phone.sign-out": "Sign out", "phone.sign-out-text": "The jobs kept on this phone are removed from it. They stay on the server.", "phone.sign-out-waiting": { one: "1 entry is not sent yet. It stays on this phone, and is sent when you sign in again.", other: "{n} entries are not sent yet. They stay on this phone, and are sent when you sign in again." }, "phone.version": "Version {version}",
  "role.technician": "Technician", "role.office": "Office", "role.owner": "Owner", "settings.title": "Settings", "settings.left": "Buttons for the left hand", "settings.place": "Keep the position with photos",
  "pair.title": "Let another phone in", "pair.text": "Shows a code for two minutes. Scan it with the other phone's camera; it is then signed in as you.", "pair.do": "Show the code", "pair.again": "Show a new code", "pair.code": "Code to scan with the other phone", "pair.until": "Good until {time}, once.",
  "devices.title": "Phones that are let in", "devices.none": "No phone has been let in.", "devices.seen": "Last seen {when}", "devices.cut": "The phone is cut off.", "devices.cut-do": "Cut off", "devices.cut-title": "Cut off {name}?", "devices.cut-text": "It can send and read nothing from this moment on. What it has not sent yet stays on that phone.",
  "people.title": "People of the shop", "people.name": "Name", "people.add": "Add a person", "people.need-name": "Write the person's name.", "people.new-link": "New link", "people.link": "Give this link to {name}. It works once, for a day.",
  "password.title": "Set a password", "password.present": "Present password", "password.fresh": "New password", "password.hint": "At least 10 characters.", "password.short": "A password has at least 10 characters.", "password.done": "The new password holds.", "password.do": "Set it",
};
