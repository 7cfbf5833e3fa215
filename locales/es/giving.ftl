# Bancos de alimentos, entregas y lo donado.
command-drops = Próximas entregas a bancos de alimentos
command-given = Lo donado, con un archivo
command-foodbanks = Bancos de alimentos
banks-heading = <b>Bancos de alimentos</b>
banks-none = Todavía no hay ningún banco de alimentos. Agrega uno con el botón.
banks-line = { $bank }, { $address }
button-new-bank = Banco de alimentos nuevo
bank-name-question = ¿Cómo se llama el banco de alimentos?
bank-name-taken = { $bank } ya está en la lista. Mira /foodbanks.
bank-unknown = En la lista no hay ningún banco de alimentos llamado { $bank }, así que no se anotó nada. Mira la lista o agrégalo con /foodbanks.
bank-address-question = ¿Cuál es la dirección de { $bank }?
bank-address-long = Escribe una dirección de { $most } caracteres como máximo.
bank-minutes-question = ¿Cuántos minutos se tarda en llegar?
bank-minutes-wrong = Escribe los minutos con un número de 0 a { $most }, por ejemplo 25.
bank-hours-question = ¿Cuándo abre { $bank }? Escribe por ejemplo <i>vie 9:00-12:00, sáb 10-13</i>.
hours-not-read = No pude leer ese horario. Escribe días y horas, por ejemplo <i>vie 9:00-12:00, sáb 10-13</i>.
hours-cross-midnight = De { $opens } a { $closes } pasa de la medianoche. Escríbelo como dos días, por ejemplo <i>vie 22-24, sáb 0-2</i>. Si querías decir la tarde, escribe <i>pm</i> o de 13 a 23.
hours-empty = Ese horario abre y cierra a la misma hora. Escribe por ejemplo <i>vie 9:00-12:00</i>.
hours-overlap = Dos de esos horarios se cruzan el mismo día. Escríbelos como uno solo.
bank-weights-question = ¿Cuál es el peso mínimo y máximo que reciben de una vez? Escribe por ejemplo <i>5 lb a 60 lb</i>.
bank-weights-wrong = Escribe dos pesos, primero el menor, por ejemplo <i>5 lb a 60 lb</i>.
bank-closed-question = ¿Qué día cierra { $bank }? Toca uno o escríbelo así: <i>2026-12-24</i>.
bank-closed-wrong = Escribe una fecha futura con año, mes y día, por ejemplo <i>2026-12-24</i>.
bank-card =
    <b>{ $bank }</b>
    { $address }
    { $minutes ->
        [one] { $minutes } minuto
       *[other] { $minutes } minutos
    } para llegar
bank-hours = { $day }: { $opens } a { $closes }
bank-weights = Recibe de { $least } a { $greatest } de una vez
bank-crops = Recibe: { $crops }
bank-cold = Puede guardar a 5 °C (41 °F) o menos
bank-warm = No puede guardar en frío: no se le proponen hongos frescos
bank-closed = Cierra: { $days }
bank-no-contact = Todavía no se ha unido nadie de allí: invita a un contacto
bank-contacts = Contactos: { $names }
button-invite-contact = Invitar a un contacto
button-address = Dirección
button-minutes = Minutos
button-hours = Horario
button-weights = Pesos
button-closed-days = Días cerrados
button-this-crop = Recibe { $crop }
button-not-this-crop = Sin { $crop }
button-cold-store = Tiene cámara fría
button-no-cold-store = Sin cámara fría
button-closed-on = Cierra { $day }
button-open-on = Abre { $day }
drop-looking = Busco un banco de alimentos que pueda recibir { $what }.
drop-asked =
    Pregunté a <b>{ $bank }</b> si reciben { $what }: { $day }, de { $from } a { $to }.
    Contestan hasta el { $answer_by }; después se pregunta al siguiente.
drop-call-them =
    <b>{ $bank }</b> podría recibir { $what }: { $day }, de { $from } a { $to }.
    Nadie de allí está en este chat: llámalos antes del { $answer_by }.
button-agreed-by-phone = Aceptaron por teléfono
button-call-off = Cancelar
button-again = Proponer otra vez
button-show = Abrir
gift-proposed =
    <b>{ $farm } tiene algo para { $bank }</b>: { $what }.
    Lo llevaríamos el { $day } entre { $from } y { $to }.
    Por favor, contesten a más tardar el { $answer_by }.
gift-caution = Solo hongos frescos cultivados, a 5 °C (41 °F) o menos. Guárdenlos en frío y sigan las normas locales de alimentos.
button-agree = De acuerdo
button-agree-first = De acuerdo, en el primer horario
button-other-time = Otra hora
button-not-this-time = Esta vez no
button-window = { $day }, { $from } a { $to }
gift-other-times = ¿Cuándo quieren { $what }? La primera propuesta era el { $day }, de { $from } a { $to }.
gift-no-other-time = No hay otra hora en que todavía estén buenos y ustedes estén abiertos.
gift-agreed = De acuerdo: { $what } el { $day } entre { $from } y { $to }. ¡Gracias!
gift-declined = Está bien, esta vez no. Gracias por contestar.
gift-passed-on = Ya no hace falta contestar: { $what } va a otros.
gift-called-off = Lo sentimos: { $farm } no puede llevar { $what } el { $day }.
gift-thanks = Gracias por recibir { $what }: { $meals ->
        [one] cerca de { $meals } comida
       *[other] unas { $meals } comidas
    }. { $farm }
drop-agreed = { $bank } aceptó: { $what } el { $day }, de { $from } a { $to }.
drop-agreed-keeper = { $bank } aceptó: { $what } el { $day }, de { $from } a { $to }. Se avisa a quien reparte la tarde anterior y antes de salir.
drop-agreed-driver = Una entrega para ti: { $what } a { $bank } el { $day }, de { $from } a { $to }. Te aviso la tarde anterior y antes de salir.
drop-is-agreed = Eso ya está acordado: { $what } a { $bank } el { $day }, de { $from } a { $to }.
drop-is-over = Esa entrega a { $bank } ya terminó y está anotada. No se cambió nada.
drop-is-off = Esa entrega a { $bank } ya no está en pie. No se cambió nada.
drop-declined = { $bank } no puede recibir { $what } esta vez. Se pregunta al siguiente banco de alimentos.
drop-unanswered = { $bank } no contestó sobre { $what }. Se pregunta al siguiente banco de alimentos.
drop-called-off = Se cancela la entrega de { $what } a { $bank } del { $day }. Los hongos quedan libres: busca otro destino en /left.
drop-nobody = Ningún banco de alimentos puede recibir { $what } a tiempo. Ofrécelo, sécalo o llama a uno: /left muestra lo que hay.
left-out-asked = · { $bank }: ya se le preguntó
left-out-warm = · { $bank }: no puede guardarlo en frío
left-out-crops = · { $bank }: no lo recibe
left-out-too-little = · { $bank }: recibe desde { $least }
left-out-closed = · { $bank }: no abre antes de que se eche a perder
drop-tomorrow = <b>Entrega al banco de alimentos</b> el { $day }: { $what } a { $bank }, de { $from } a { $to }. Hora de salida: { $leave_at }.
drop-leave = <b>Hora de prepararse</b>: { $what } a { $bank }, de { $from } a { $to }. Hora de salida: { $leave_at }.
drop-was-it = <b>¿Se entregó?</b> { $what } a { $bank }, { $day }.
drop-not-heard = Nadie ha dicho todavía si se entregaron { $what } a { $bank }.
drop-assumed = Nadie dijo cómo fue: { $what } a { $bank } cuenta como entregado según lo previsto (supuesto). Así queda marcado en el registro de donaciones.
drop-lapsed = Nadie dijo si se entregaron { $what } a { $bank }, y en la cámara fría no queda nada de eso. Cuenta como cancelado.
drop-where =
    { $address }, { $minutes ->
        [one] { $minutes } minuto
       *[other] { $minutes } minutos
    } para llegar
drop-caution = Llévalo a 5 °C (41 °F) o menos; sigue las normas locales de alimentos.
button-handed-over = Entregado según lo previsto
button-drop-other-weight = Otro peso
button-could-not = No se pudo
drop-weight-question = ¿Cuánto se entregó a { $bank }? Acordado: { $what }. Escribe el peso, o uno por cada tipo.
drop-nothing-handed = ¿No se entregó nada? Entonces toca <i>No se pudo</i> en la entrega, mira /drops. No se anotó nada.
drop-more-than-agreed = Es más de lo acordado ({ $agreed }). Escribe lo que se entregó; no se anotó nada.
drop-handed-over = Entregado a { $bank }: { $what }, { $meals ->
        [one] cerca de { $meals } comida
       *[other] unas { $meals } comidas
    }.
drop-temperature-question = Si mediste la temperatura, escríbela, por ejemplo <i>3 °C</i> o <i>38 F</i>.
drop-cold-enough = Anotado: lo bastante frío.
drop-too-warm = Anotado. Es más de 5 °C (41 °F): avisa al banco de alimentos y sigue las normas locales.
drops-heading = <b>Entregas a bancos de alimentos</b>
drops-none = No hay ninguna prevista.
drops-file = Próximas entregas en tabla
drops-column-from = desde
drops-column-until = hasta
drops-column-address = dirección
drops-column-grams = g
drops-column-agreed = acordado
drop-agreed-line = Acordado: { $what } a { $bank }, { $day }, de { $from } a { $to }
drop-proposed-line = Preguntado: { $what } a { $bank }, { $day }, de { $from } a { $to }
drop-past-line = Donado: { $weight } a { $bank }, { $day }
drop-past-line-assumed = Donado (supuesto): { $weight } a { $bank }, { $day }
handed-which-question = ¿Qué se entregó? Todavía no se anotó nada.
button-the-run = El reparto
button-show-drop = { $bank }, { $day }
given-nothing = Todavía no se ha donado nada.
given-heading = <b>Lo donado</b>
given-line =
    { $bank }, { $month }: { $weight }, { $meals ->
        [one] { $meals } comida
       *[other] { $meals } comidas
    }
given-total =
    En total: <b>{ $weight }</b>, { $meals ->
        [one] { $meals } comida
       *[other] { $meals } comidas
    }
given-assumed = De eso, supuesto y sin confirmar: { $weight }
given-meal-source = Una comida se cuenta como 1.2 lb de alimento (Feeding America, según USDA).
given-caption = Todas las anotaciones. Es un registro, no un consejo: consulta a un asesor fiscal; la protección de quien dona y las deducciones dependen de la ley local.
given-file = donado
given-column-day = fecha
given-column-bank = banco de alimentos
given-column-crop = hongo
given-column-kilograms = kg
given-column-pounds = lb
given-column-value = valor al precio de la granja
button-remove-bank = Quitar de la lista
bank-remove-question = ¿Quitar de la lista a { $bank } y sus contactos? Lo donado queda anotado.
bank-removed = { $bank } ya no está en la lista.
bank-has-drops = Todavía viene una entrega a { $bank }: cancélala primero, mira /drops.
drop-undone = <b>Deshecho</b>: { $what } a { $bank } no está entregado. ¿Qué se entregó?
gift-corrected = Una corrección: { $what } todavía no cuenta como entregado. Lo anotaremos de nuevo.
button-regular = Entrega fija
button-regular-at = { $rhythm }, { $at }
button-regular-not-on = { $bank }: no el { $day }
button-regular-stop = Terminar { $bank }
regular-question = ¿Cuándo recibe { $bank } lo que quede libre, una y otra vez? Toca, o escribe por ejemplo <i>cada sábado 14:00 a { $bank }</i>.
regular-line = Entrega fija a { $bank }: { $rhythm }, { $at }, la próxima el { $day }
regular-line-no-next = Entrega fija a { $bank }: { $rhythm }, { $at }, sin próxima fecha abierta
regular-asked-line = Se preguntó por una entrega fija a { $bank }: { $rhythm }, { $at }
regular-not-open = { $bank } no abre entonces: { $rhythm }, { $at }. No se cambió nada; para ver su horario, toca su nombre en /foodbanks.
regular-no-date = { $bank } necesita primero horario y día de la semana. Escribe por ejemplo <i>cada sábado 14:00 a { $bank }</i>.
regular-exists = { $bank } ya tiene una entrega fija. Termina primero esa.
regular-warm = { $bank } no puede guardar en frío: no se le proponen hongos frescos.
regular-asked = Se preguntó a <b>{ $bank }</b> si quieren lo que quede libre: { $rhythm }, { $at }, desde el { $day }.
regular-call-them =
    <b>{ $bank }</b> podría recibir lo que quede libre: { $rhythm }, { $at }, desde el { $day }.
    Nadie de allí está en este chat: llámalos, por favor.
gift-regular-proposed =
    <b>{ $farm } quiere llevar a { $bank } lo que sobra</b>: { $rhythm }, { $at }, de { $least } a { $greatest }, desde el { $day }.
    Se acepta una sola vez. El día anterior decimos qué llega; algunas semanas no será nada.
gift-regular-agreed = De acuerdo: { $rhythm }, { $at }, desde el { $day }. Con /drops se deja fuera una fecha o se termina. ¡Gracias!
regular-agreed = { $bank } aceptó una entrega fija: { $rhythm }, { $at }, desde el { $day }. La lleno el día anterior con lo libre, nunca con lo prometido.
gift-regular-declined = Está bien, sin entrega fija. Gracias por contestar.
regular-declined = { $bank } no quiere una entrega fija ({ $rhythm }).
regular-stop-question = ¿Terminar la entrega fija a { $bank } ({ $rhythm })?
regular-stopped = La entrega fija a { $bank } ({ $rhythm }) terminó. Una entrega ya acordada sigue en pie, mira /drops.
regular-not-on = Sin entrega fija a { $bank } el { $day }.
regular-on-again = La entrega fija a { $bank } del { $day } vuelve a estar en pie.
regular-filled = Entrega fija a { $bank }: { $what } el { $day }, de { $from } a { $to }. Se avisa a quien reparte la tarde anterior y antes de salir.
gift-regular-comes = <b>{ $farm } lleva a { $bank }</b> { $what } el { $day } entre { $from } y { $to }.
regular-more = Más para { $bank } el { $day }: ahora son { $what }.
regular-nothing = No queda nada libre para { $bank }: la entrega fija del { $day } se salta.
regular-too-little = Solo hay { $free } libre para { $bank }, que recibe desde { $least }: la entrega fija del { $day } se salta.
gift-regular-nothing = { $farm } no lleva nada el { $day }: no sobró nada. ¡Hasta la próxima!
regular-closed = Sin entrega fija a { $bank } el { $day }: está cerrado o nadie reparte. Lo libre va al siguiente banco de alimentos.
regular-full = Sin entrega fija a { $bank } el { $day }: está lleno. Lo libre va al siguiente banco de alimentos.
button-full = Un día sin espacio
button-full-on = Lleno el { $day }
button-not-full-on = Hay espacio el { $day }
full-question = ¿Qué día no puede recibir nada { $bank }?
bank-full = Lleno el: { $days }
bank-need = Se pregunta primero: su necesidad es mayor
button-need-greater = Más necesidad
button-need-as-others = Necesidad como otros
left-out-full = · { $bank }: está lleno
button-papers = Calendario y hoja
drop-calendar = { $bank }, { $day }: para tu calendario
drop-sheet = { $bank }, { $day }: la hoja para imprimir y llenar en la puerta
drop-event = Entrega al banco de alimentos: { $bank }
drop-event-text = { $what } a { $bank }, de { $from } a { $to }. Hora de salida: { $leave_at }.
given-caution = Es un registro, no un consejo: consulta a un asesor fiscal. Lo que vale depende de la ley local.
button-year-sheet = { $year } para imprimir
button-year-table = { $year } en tablas
button-given-correct = Corregir una anotación
button-given-correct-drop = { $bank }, { $day }: { $weight }
given-year-sheet = Lo donado en { $year }
given-year-months = Lo donado en { $year }, por banco de alimentos y mes
given-year-entries = Lo donado en { $year }, todas las anotaciones
given-column-year-kilograms = kg del año
given-column-meals = comidas
given-column-basis = costo
given-column-correction = corrección
given-column-assumed = supuesto
given-correct-which = ¿Qué entrega se anotó mal?
given-correct-question = ¿Cuánto recibió de verdad { $bank } el { $day }? Anotado: { $what }. Escribe el peso, o uno por cada tipo.
given-correct-no-crop = Esa entrega a { $bank } no llevaba { $crop }. No se cambió nada.
given-corrected = Corregido: { $bank } recibió { $what } el { $day }. Lo anotado antes queda en el registro.
gift-corrected-weight = Una corrección: el { $day } recibieron { $what }.
gift-cancel-question = ¿Anulo la entrega de { $what } del { $day }, de { $from } a { $to }? No se puede deshacer.
button-cancel-gift = Sí, anularla
