// The Spanish texts, key by key those of words-en.js.
export default {
  "dispute.title": "Disputa por daños", "dispute.what": "Lo que se dice y lo que el expediente muestra al respecto: a favor del taller y en su contra.", "dispute.none": "Nadie ha dicho que se causara un daño en este trabajo.", "dispute.letter-and-file": "Respuesta y expediente",
  "dispute.keep": "Guardar", "dispute.kept": "Guardado", "dispute.on-its-way": { one: "1 registro va en camino al servidor. Luego la página se pone al día.", other: "{n} registros van en camino al servidor. Luego la página se pone al día." },

  "view-of.fridge-front": "Refrigerador, de frente", "view-of.fridge-open": "Refrigerador, abierto", "view-of.washer": "Lavadora o secadora", "view-of.range": "Cocina u horno", "view-of.dishwasher": "Lavavajillas", "view-of.room": "La habitación",
  "place.area": "Dónde", "place.words": "Con otras palabras …", "place.in-words": "Dónde, con palabras", "place.in-words-hint": "Por ejemplo: parqué del pasillo, a dos metros de la puerta.", "place.drawing": "Dibujo", "place.how": "Toque el lugar en el dibujo o elíjalo en la lista de arriba: es lo mismo.", "place.clear": "Quitar el marcador",

  "allege.title": "Registrar lo que se alega", "allege.what": "Anote lo que se dijo, con las palabras de quien lo dijo. Si es así o no es otra cuestión, y el expediente la responde hasta donde puede.", "allege.where": "El lugar", "allege.says": "Lo que se dice",
  "allege.words": "Sus palabras", "allege.words-hint": "Tal como se escribieron o dijeron.", "allege.by": "Quién lo dice", "allege.kind": "Qué tipo de daño", "allege.unsaid": "no se dijo", "allege.since": "Desde cuándo", "allege.since-hint": "Cuándo se dice que ocurrió o se notó.", "allege.amount": "Importe", "allege.wants": "Lo que piden",
  "allege.reached": "Cómo llegó al taller", "allege.how": "Por", "allege.came": "El día", "allege.reply-by": "Responder hasta", "allege.reply-by-hint": "El último día para responder. Entra en la lista de plazos.",
  "allege.sent-along": "Adjuntos", "allege.sent-along-hint": "Fotos y cartas de la otra parte. Se guardan como se recibieron, con lo que dicen sus archivos.", "allege.add-picture": "Agregar su foto", "allege.add-paper": "Agregar su carta", "allege.sent-by": "Enviado por {who}", "allege.received": "Recibido con esto",
  "allege.need-area": "Indique dónde es: elija un lugar o escríbalo.", "allege.need-words": "Escriba lo que se dijo.",

  "received.mark": "recibida", "received.taken": "El archivo dice que se tomó el {when}.", "received.no-date": "El archivo no dice cuándo se tomó.", "received.no-zone": "No dice en qué zona horaria.",

  "order.which": "Según qué reloj", "order.before": "antes del trabajo", "order.after": "tras iniciar el trabajo", "order.cannot-tell": "no se puede saber", "order.conflicting": "horas contradictorias",

  "claimed.title": "{n}. {area}", "claimed.reply-by": "Responder hasta el {day}", "claimed.days-left": { one: "Queda 1 día.", other: "Quedan {n} días." }, "claimed.days-over": { one: "Vencido hace 1 día.", other: "Vencido hace {n} días." },
  "claimed.came": "llegó {day}", "claimed.since": "desde {day}", "claimed.finding": "Lo que muestra el expediente:", "claimed.for": "Qué lo indica", "claimed.against": "Qué habla en contra del taller", "claimed.missing": "Lo que falta", "claimed.no-items": "Ningún elemento lo indica.", "claimed.no-against": "Nada en el expediente.",
  "claimed.photos": { one: "(foto {list})", other: "(fotos {list})" }, "claimed.pairs": "Antes y después", "claimed.only-before": "Más de antes del trabajo", "claimed.only-after": "Más de después de iniciar el trabajo", "claimed.only-unplaced": "Fotos cuyo orden no se puede saber",
  "claimed.theirs": "Lo que enviaron", "claimed.theirs-what": "Como se recibió: ni se da por cierto ni se pone en duda.",
  "claimed-state.open": "abierto", "claimed-state.answered": "respondido", "claimed-state.offered": "hay una oferta hecha", "claimed-state.agreed": "acordado", "claimed-state.withdrawn": "retirado", "claimed-state.refused": "rechazado por el taller", "claimed-state.decided": "decidido por otra persona", "claimed-state.lapsed": "caducado",

  "pair.before": "Antes", "pair.after": "Después", "pair.lay-over": "Poner la foto posterior sobre la anterior", "pair.overlay": "Una sobre otra", "pair.overlay-alt": "{what}: la foto anterior, con la posterior encima", "pair.wipe-label": "Hasta dónde llega la foto posterior", "pair.fade-label": "Con qué intensidad se ve la foto posterior", "pair.how": "Comparar por", "pair.wipe": "Cortina", "pair.fade": "Fundido",
  "pair.marked": { one: "Marcar la única zona que difiere", other: "Marcar las {n} zonas que difieren" }, "pair.none-marked": "Ninguna zona difiere más allá de la luz y el ruido.",

  "condition.title": "Registro del estado", "condition.none": "No hay nada registrado sobre el estado.", "condition.drawing": "{view}, con los números del registro", "condition.add": "Agregar al registro", "condition.form": "Estado", "condition.choose": "elegir", "condition.scale": "Medido con", "condition.not-measured": "sin medir", "condition.bears": "Afecta la cobertura",
  "bears.yes": "Sí", "bears.no": "No", "bears.unknown": "No se sabe",

  "steps.title": "Entre las partes", "steps.none": "Aún no hay cartas, ofertas ni pagos.", "steps.answer-by": "Responder hasta el {day}",
  "order-of.title": "Orden de los hechos", "order-of.scroll": "El dibujo; se puede mover hacia los lados", "order-of.alt": "Dibujo de la visita, el trabajo, las fotos, los daños, las firmas y la disputa en orden de tiempo; lo mismo está en palabras abajo", "order-of.in-words": { one: "1 hecho, en palabras", other: "{n} hechos, en palabras" },
  "proof.title": "Antes del trabajo o después", "proof.counts": "Consta que {n} de {all} fotos son de antes del primer trabajo.", "proof.each": "Cada foto, y según qué reloj",

  "letter.title": "Carta de respuesta", "letter.which": "Responde a", "letter.none-open": "No hay ninguna alegación abierta.", "letter.extras": "Se incluye si se elige", "letter.extras-what": "Los demás datos del cliente quedan fuera salvo que se elijan aquí.", "letter.hold": "Queda fuera del expediente", "letter.exhibits": "Anexos", "letter.no-exhibits": "No hay ninguno.",
  "letter.read-it": "Un borrador hecho con los registros. Léalo y cámbielo: sale lo que está escrito aquí.", "letter.text": "La carta", "letter.no-advice": "Una plantilla, no asesoría legal; prevalecen las normas locales.", "letter.build": "Crear el expediente de disputa", "letter.is-built": "El expediente de disputa está creado.", "letter.link-hint": "Para compartirlo con un enlace que caduca, use los enlaces junto a los paquetes en la página del trabajo.",
  "letter.sent": "Enviada por", "letter.sent-hint": "Cuando ya salió: carta, correo electrónico, en mano …", "letter.record-sent": "Registrar que se envió",

  "settling.title": "Registrar un paso", "settling.what": "Una oferta o un pago resuelve; no admite nada. Cada paso se guarda tal como se hizo.", "settling.step": "Qué paso", "settling.allegations": "Se refiere a", "settling.offer": "La oferta", "settling.no-offer": "sin oferta", "settling.from": "Hecha por", "settling.outcome": "Resultado", "settling.text": "Texto del finiquito", "settling.text-hint": "De la plantilla propia del taller.",
  "settling.template-lacks": "Sin completar: {list}.", "settling.insurer": "Aseguradora", "settling.policy": "Número de póliza", "settling.payer": "Pagado por", "settling.to": "Pagado a", "settling.name": "Nombre", "settling.amount": "Importe", "settling.currency": "Moneda", "settling.need-currency": "Escriba la moneda con tres letras, por ejemplo USD.", "settling.terms": "Condiciones", "settling.words": "Sus palabras", "settling.reason": "Motivo", "settling.how": "Cómo", "settling.on": "El día", "settling.reference": "Referencia", "settling.answerBy": "Responder hasta",
  "settling.paper": "Agregar el documento", "settling.papers": { one: "1 documento agregado", other: "{n} documentos agregados" }, "settling.need-allegation": "Indique a qué alegación se refiere.", "settling.what-kind": "Qué se ofrece",
  "step-of.offer": "Oferta", "step-of.offer-answer": "Respuesta a una oferta", "step-of.release": "Finiquito", "step-of.paid-out": "Pago", "step-of.insurer-notice": "Aviso a la aseguradora", "step-of.dispute-end": "Cierre", "step-of.statement": "Declaración",
  "offer-from.shop": "El taller", "offer-from.customer": "El cliente", "offer-from.insurer": "La aseguradora",
};
