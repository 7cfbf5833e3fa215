# Lo que queda y adónde va.
command-left = Qué queda en la cámara fría
left-heading = <b>Lo que queda</b>
left-nothing = No hay nada en la cámara fría.
left-crop = <b>{ $crop }</b>: { $free } libres, de { $there } en la cámara fría
left-promised = · prometido: { $weight }
left-offered = · ofrecido o apartado: { $weight }
left-given = · para un banco de alimentos: { $weight }
left-market = · para el mercado, { $day }: { $what }
left-lot =
    · { $weight }: dura hasta { $day }, { $days ->
        [0] hoy es el último día
        [one] { $days } día más
       *[other] { $days } días más
    }
left-past = · { $weight }: solo hasta { $day }; no vender ni donar
left-dried = · en seco pesaría cerca de { $weight }; al secador hasta { $by }
left-best = <b>Lo mejor</b> { $way }
left-beside = · y además, ya: { $weight } { $way }
left-worth = { $line }, unos { $money }
left-way-offer = · ofrecerlo a los restaurantes; a más tardar { $by }
left-way-market = · guardarlo para el mercado; a más tardar { $by }
left-way-give = · donarlo a un banco de alimentos; a más tardar { $by }
left-changed = Algo ha cambiado desde que leíste esto. Ahora lo mejor es:
way-offer = a los restaurantes
way-market = para el mercado
way-give = a un banco de alimentos
way-dry = al secador
left-as-it-is = Se queda como está. Con /left vuelves aquí.
button-offer = Ofrecer { $crop }
button-keep = Mercado: { $crop }
button-give = Donar { $crop }
button-dry = Secar { $crop }
button-discard = Tirar { $crop }
button-to-market = Sale al mercado
button-market-back = Vuelve del mercado
button-leave = Dejarlo así
button-undo = Deshacer
button-back = Atrás
button-all-of = Todo { $weight }
button-half-of = La mitad { $weight }
button-one-pack = Un paquete { $weight }
button-other-amount = Otra cantidad
button-no-thanks = No, gracias
button-look-again = Verlo otra vez
button-give-back = Devolver { $weight }
button-collected = Recogido
button-pick-up = Paso a recogerlo
button-not-collected = No recogido, queda libre
button-nothing-back = No volvió nada
surplus-more-than-free = No hay tanto de { $crop } libre: solo { $free }. No se cambió nada.
surplus-more-than-there = En la cámara fría hay { $there } de { $crop }. No se cambió nada.
surplus-not-a-weight = No pude leer eso como un peso. Escribe por ejemplo <i>4 lb de ostra, 1 lb de shiitake</i>.
surplus-not-in-cold-room = Según mis cuentas, en la cámara fría no hay { $what } en buen estado. Anota primero la cosecha y vuelve a tocar el botón.
surplus-dried = { $weight } de { $crop } van al secador: cerca de { $dried } en seco.
surplus-discarded = Se tiran { $weight } de { $crop }.
surplus-promises-uncovered = Ojo: ya no alcanza para { $weight } de { $crop } que están prometidos o apartados.
surplus-put-back = Deshecho: está otra vez en la cámara fría.
market-no-day = La configuración de la granja no tiene día de mercado, así que no se puede guardar nada para ese día. Puedes ofrecer, donar o secar.
market-does-not-keep = No hay { $crop } libre que dure hasta el mercado del { $day }. Puedes ofrecer, donar o secar.
market-keep-question = ¿Cuánto de { $crop } guardo para el mercado del { $day }? Hay { $free } libres. Toca o escribe un peso.
market-kept = Para el mercado del { $day } quedan { $weight } de { $crop }.
market-nothing-kept = No hay nada guardado para el mercado de hoy.
market-left = Salió al mercado: { $what }.
market-left-less = Falta { $what } de lo guardado: los pedidos prometidos van primero, y lo que pasó de fecha se queda aquí.
market-back-question = ¿Qué volvió del mercado? Escribe por ejemplo <i>4 lb de ostra, 1 lb de shiitake</i>.
market-back-heavier = No pueden volver { $back } de { $crop }: al mercado fueron { $left }. No se cambió nada.
market-back = De vuelta en la cámara fría: { $what }. Lo demás cuenta como vendido.
market-all-sold = Bien: no volvió nada, todo cuenta como vendido.
market-back-entered = Queda anotado hoy, no con fecha del { $day }.
market-back-to-come = Ese día todavía no llega: { $day }. No se anotó nada; revisa la fecha, o escribe sin fecha lo que volvió.
offer-nobody = Todavía no se ha unido ningún restaurante, así que no hay a quién preguntar. Invita a uno con /people.
offer-made =
    Oferta hecha: { $what }, a { $buyers ->
        [one] { $buyers } restaurante
       *[other] { $buyers } restaurantes
    }, hasta el { $deadline }. Te aviso quién toma algo; lo que quede va después a un banco de alimentos.
offer-left = Nos quedan <b>{ $what }</b>. Para quien llegue primero.
offer-price = { $price } por { $weight }
offer-times = Hasta el { $deadline }; se recoge a más tardar el { $until }.
offer-all-taken = { $what }: ya no queda nada.
offer-closed = { $what }: esta oferta terminó.
offer-yours = Para ti: <b>{ $what }</b>. Recoge a más tardar el { $until }.
offer-yours-along = Para ti: <b>{ $what }</b>. Llega con tu entrega del { $day }.
offer-picked-up = De acuerdo: pasa a recogerlo a más tardar el { $until }.
offer-packed-already = La camioneta ya está cargada, así que va en camino. Nada cambió; llámanos si no te conviene.
offer-collected = Recogido: { $what }. ¡Gracias!
offer-declined = De acuerdo, esta vez no.
offer-granted = Listo, para ti: { $what }.
offer-partly = Solo quedaban { $what }. Son para ti; si es muy poco, puedes devolverlos.
offer-too-small = Lo mínimo es { $what }.
offer-gone = Alguien fue más rápido: ya no queda nada.
offer-too-late = Esta oferta terminó. No se tomó nada.
offer-weight-question = ¿Cuánto quieres? Quedan { $left }. Escribe un peso, por ejemplo 2 lb.
offer-given-back = Devuelto: { $what }. Gracias por avisar.
offer-not-collected = Nadie recogió { $what }, así que ya no quedan apartados para ti.
offer-closed-before = Esa oferta ya terminó.
offer-withdrawn = La oferta se retiró. Lo que ya se tomó se respeta.
offer-ended = Terminó la oferta de { $what }. Se tomaron { $taken }; quedan { $left }.
claim-made = <b>{ $buyer }</b> toma { $what } y pasa a recoger a más tardar el { $until }. En oferta: { $left }.
claim-made-along = <b>{ $buyer }</b> toma { $what }; va con la entrega del { $day }. En oferta: { $left }.
claim-picked-up = <b>{ $buyer }</b> pasa a recoger { $what }, a más tardar el { $until }.
claim-goes-along = { $buyer }: { $what } de la oferta va con la entrega del { $day }.
claim-given-back = { $buyer } devolvió { $what }.
claim-collected = { $buyer } recogió { $what }.
claim-not-collected = { $buyer } no recogió { $what }. Vuelve a estar libre, mira /left.
claim-still-here = { $buyer } no ha recogido { $what }. ¿Ya vino?
cold-room-noted = Anotado: la cámara fría está a { $temperature }.
cold-room-said = Cámara fría: { $temperature }, dicho el { $at }
cold-room-warm = <b>Más de 5 °C (41 °F)</b>: lo que hay dura menos. Enfríala y sigue las normas locales de alimentos.
cold-room-lot-now = · { $what } dura hasta el { $day }, no hasta el { $before }
cold-room-range = { $temperature } no puede ser: una cámara fría está entre { $least } y { $most }. No se anotó nada.
cold-room-which-scale = ¿A cuál de las dos está la cámara fría?
surplus-dried-label = Para la etiqueta: <i>{ $crop }, cultivo propio, producto seco; sin nada más. Secado el { $day }. Guardar en seco, cocinar antes de comer.</i> Una mezcla nombra todos sus hongos y cualquier otro alérgeno. Sigue las normas locales de alimentos.
command-rules = Qué hago por mi cuenta con lo que queda
rules-heading = <b>Qué hago por mi cuenta con lo que queda</b>
rules-none = Nada todavía: cuento después del reparto y tú decides.
rules-type = Toca, o escribe por ejemplo <i>ofrecer ostra hasta el viernes a mediodía, luego donar</i>.
rule-line = · { $crop }: ofrecer hasta el { $weekday } { $time }, luego donar
rule-all-crops = todo lo demás
rule-day = { $weekday }
rule-time = { $time }
rule-day-question = ¿Hasta qué día ofrezco { $crop } antes de donar el resto?
rule-time-question = ¿Hasta qué hora del { $weekday } ofrezco { $crop }? Para otra hora, escribe la regla entera.
rule-set = Lo hago así desde el próximo recuento.
rule-stopped = Ya no aplico esa regla. Lo que está en oferta sigue en oferta; retíralo con /left.
rule-unread = No pude leer esa regla. No se cambió nada. Escribe el hongo, el día y la hora.
rule-offered =
    Según tu regla: { $what }, oferta a { $buyers ->
        [one] { $buyers } restaurante
       *[other] { $buyers } restaurantes
    } hasta { $deadline }; lo que quede va a un banco de alimentos.
rule-gives = Según tu regla: { $what } no se puede ofrecer, así que pregunto ya a los bancos de alimentos.
button-set-rule = Regla: { $crop }
button-stop-rule = Quitar regla: { $crop }
button-stop-it = Quitar la regla
left-next = Más de lo pedido, { $day }: cerca de { $likely } de { $crop } ({ $range })
offer-yielded = Un pedido necesita { $what } de lo ofrecido: se retira. En oferta quedan { $left }.
