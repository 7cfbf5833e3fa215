# El idioma: su nombre y la configuración regional de CLDR para números y fechas.
language-name = Español
language-formats = es-419

# Formas de los valores. Van dentro de otros mensajes: sin etiquetas.
format-between = entre { $low } y { $high }
format-day-time = { $day }, { $time }
format-percent = { $number }%
format-money =
    { $currency ->
        [USD] ${ $amount }
        [EUR] €{ $amount }
       *[other] { $currency } { $amount }
    }

day-yesterday = ayer
day-today = hoy
day-tomorrow = mañana

# Alguien que la granja no conoce.
stranger = ¡Hola! Este es el chat de pedidos de { $farm }. Para entrar, pide a la granja un enlace de invitación.
stranger-too-often = Demasiados intentos. Vuelve a intentarlo en una hora o pide a la granja un enlace de invitación.
too-much-at-once = Más de { $most } mensajes tuyos en un minuto: dejo de leer durante un minuto. Este y los que lleguen ahora no cuentan; los de antes, sí. Mira cómo quedó todo y luego vuelve a enviar lo que falte.
unknown-command = No conozco ese comando. Envía /help para ver qué puedo hacer.
not-for-your-role = Eso no te toca a ti aquí. Si debería, pregúntale a la granja.
stale-button = Ese botón ya no sirve. Usa mi mensaje más reciente.
went-wrong = Algo falló de nuestro lado y no se cambió nada. Inténtalo de nuevo en un minuto.

button-yes = Sí
button-no = No
button-settings = Idioma y unidades
button-help = Ayuda
not-understood = No entendí. Envía /help para ver qué puedes escribir.
timetable-missed = No estaba en marcha ({ $at }) y esto no se hizo: { $job }. Por favor, encárguense ustedes.
timetable-given-up = Esto falló una y otra vez hasta que fue demasiado tarde ({ $at }): { $job }. Por favor, encárguense ustedes.
timetable-aside = Esto falla una y otra vez, así que lo he dejado aparte: { $job } ({ $at }). Todo lo demás sigue, y lo intento de nuevo cada seis horas. Quien cuida del programa encuentra el motivo con «pinset check».
job-name = { $job ->
    [cutoff] cerrar los pedidos
    [picking] el recordatorio de la cosecha
    [packing] la lista de preparación
    [count] contar lo que queda
    [morning] el mensaje de la mañana
    [tidying] la limpieza de datos
    [early_warning] mirar si va a faltar algo
    [answers_end] cerrar el plazo para responder
    [pack_assume] dar por empacado lo que nadie marcó
    [run_ask] preguntar cómo fue el reparto
    [run_assume] dar un reparto por entregado
    [offer_wave] ofrecer a los siguientes restaurantes
    [offer_end] cerrar una oferta
    [collect_end] preguntar qué se recogió
    [along_end] preguntar qué fue con la entrega
    [drop_fill_eve] preparar una entrega regular al banco de alimentos
    [drop_fill_leave] preparar una entrega regular al banco de alimentos
    [drop_answer_end] cerrar el plazo de respuesta de un banco de alimentos
    [drop_eve] el aviso de la víspera de una entrega al banco de alimentos
    [drop_leave] el aviso de salida hacia un banco de alimentos
    [drop_close] preguntar cómo fue una entrega al banco de alimentos
   *[other] { $job }
}
trouble-unreachable = Ya no se puede escribir a { $name }: el chat está bloqueado o no existe. Por favor, llamen.
trouble-refused = No se pudo entregar un mensaje a { $name }. Por favor, llamen.
trouble-backup = No se pudo guardar la copia de seguridad programada. Por favor, revisen el equipo donde funciono: el disco puede estar lleno o falta la carpeta.
trouble-clock-ahead = El reloj de la máquina en la que funciono va adelantado unos { $minutes ->
        [one] { $minutes } minuto
       *[other] { $minutes } minutos
    }. Me guío por la hora del servicio de mensajes; por favor, pongan el reloj en hora.
trouble-clock-behind = El reloj de la máquina en la que funciono va atrasado unos { $minutes ->
        [one] { $minutes } minuto
       *[other] { $minutes } minutos
    }. Me guío por la hora del servicio de mensajes; por favor, pongan el reloj en hora.
trouble-webhook = Alguien más que tiene mi clave me ha quitado la conexión de los mensajes. La he restablecido y no se ha perdido nada. Si no ha sido nadie de ustedes, pidan una clave nueva para mí: quien la tenga puede leer lo que me escriben.
outage-over = No pude comunicarme con el servicio de mensajes desde { $from } hasta { $to }.
outage-nothing-waited = Ningún mensaje tuvo que esperar.
outage-waited =
    { $messages ->
        [one] Un mensaje esperó y sale ahora.
       *[other] { $messages } mensajes esperaron y salen ahora.
    }
outage-left-out =
    { $messages ->
        [one] Un mensaje para { $name } habría llegado tarde, así que no lo envié.
       *[other] { $messages } mensajes para { $name } habrían llegado tarde, así que no los envié.
    }
amount-of = { $weight } de { crop-of }
# The crop behind a weight, in the form a language wants there.
crop-of = { $crop }
