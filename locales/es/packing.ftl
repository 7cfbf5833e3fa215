picking-heading = <b>Por cosechar esta tarde</b> para el { $day }
picking-line = { $crop }: prometido { $promised }, listo { $ready }, <b>faltan por cosechar { $pick }</b>
picking-line-ready = { $crop }: prometido { $promised }, listo { $ready }, nada por cosechar
cold-chain = Enfriar toda la noche y mantener a 5 °C (41 °F) o menos. Sigue las normas locales.
cold-chain-road = Mantener a 5 °C (41 °F) o menos en el camino. Sigue las normas locales.
packing-heading = <b>Lista de empaque</b>, { $day }
packing-row = <b>{ $buyer }</b>: { $amounts }
packing-total = Total { $amount }. Saca primero:
packing-lot = • cosecha del { $picked }: { $weight }
packing-no-lot = • { $weight } no están registrados: pesa y anota lo cosechado
packing-file = Lista de empaque en tabla, { $day }
packing-sheet-file = Lista de empaque para imprimir, { $day }
button-print = Para imprimir
button-table = En tabla
packing-column-buyer = restaurante
packing-column-crop = hongo
packing-column-grams = g
packing-column-lot = cosechado el
packing-none = No hay nada por empacar ni entregar.
packing-packed = <b>{ $day }</b>: todo empacado según la lista, dice { $name }. Ya puede salir el reparto.
packing-packed-already = <b>{ $day }</b>: eso ya está empacado. Los pesos todavía se pueden cambiar en el reparto: /run
packing-assumed = Nadie avisó que está empacado. La camioneta sale ahora, así que cuenta como empacado según la lista.
packing-whose = ¿De quién es el peso distinto?
packing-which = { $buyer }: ¿qué renglón es distinto?
packing-weight-question = { $buyer }, { $crop }: ¿cuánto se empacó? Escribe un peso, por ejemplo <i>5 lb 4 oz</i> o <i>2.4 kg</i>.
packing-weight-unread = Escribe un peso con su unidad, por ejemplo <i>5 lb 4 oz</i> o <i>2.4 kg</i>.
packing-weight-too-much = Hay como máximo { $most } de { $crop } registrados para esto. Anota primero la cosecha o escribe menos.
packing-cut = <b>{ $day }</b>: hay menos en la cámara fría de lo prometido. Se repartió por igual y se avisa a cada restaurante:
packing-cut-line = { $buyer }: { $crop } { $before } → <b>{ $now }</b>
button-all-packed = Todo empacado según la lista
button-other-weights = Otros pesos
button-back-to-list = Atrás
run-heading = <b>Reparto</b>, { $day }
run-row = • { $buyer }: { $amounts }
run-row-done = ✓ { $buyer }: { $amounts }
run-done = <b>{ $day }</b>: todo entregado. Gracias.
run-row-assumed = ≈ { $buyer }: { $amounts } (supuesto)
run-assumed = <b>{ $day }</b>: nadie dijo cómo fue el reparto, así que cuenta como entregado tal como se empacó (≈ supuesto). ¿Hubo algo diferente?
run-unsaid = <b>{ $day }</b>: ¿ya terminó el reparto? Nadie lo marcó. Plazo: { $at }; después cuenta como entregado tal como se empacó.
run-unsaid-day-before = <b>{ $day }</b>: nadie dijo cómo fue el reparto. Plazo: { $at }; después cuenta como entregado tal como se empacó.
run-over = <b>{ $day }</b>: ese reparto ya terminó, no cambió nada.
run-not-yet = <b>{ $day }</b>: todavía es temprano para eso, no cambió nada.
run-not-on-the-books = No se registraron { $amount }: no constan en la cámara fría. Anota la cosecha y corrige el peso.
run-weight-question = { $buyer }, { $crop }: ¿cuánto se entregó? Escribe un peso, por ejemplo <i>5 lb 4 oz</i> o <i>2.4 kg</i>.
button-delivered = Entregado: { $buyer }
button-other-weight = Otro peso: { $buyer }
button-nothing = Nada
button-correct-weight = Corregir un peso
button-all-delivered = Todo entregado
button-run-of = Reparto del { $day }
command-packing = Lista de empaque
command-run = Reparto
road-late-told = Avisados: { $buyers }.
road-nobody-told = { $buyer } y la granja ya saben que nadie abre. La parada sigue en la ruta.
road-late = Hoy la entrega llega un poco más tarde de lo normal. Vamos de camino.
road-late-minutes = { $minutes ->
    [one] Hoy la entrega llega { $minutes } minuto más tarde. Vamos de camino.
   *[other] Hoy la entrega llega unos { $minutes } minutos más tarde. Vamos de camino.
}
road-late-farm = La furgoneta llega tarde a { $buyer }; ya lo saben.
road-late-minutes-farm = { $minutes ->
    [one] La furgoneta llega { $minutes } minuto tarde a { $buyer }; ya lo saben.
   *[other] La furgoneta llega { $minutes } minutos tarde a { $buyer }; ya lo saben.
}
road-nobody = Estamos en la puerta con las setas y nadie abre. ¿Puede salir alguien?
road-nobody-farm = Nadie abre en { $buyer }. Se les ha escrito.
