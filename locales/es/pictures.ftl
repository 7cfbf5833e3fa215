# Imágenes y hojas para imprimir: todo texto sin formato, menos los pies de foto.

# La imagen del pronóstico. Columnas y luego lo que significa cada marca.
forecast-title = Cosecha y pedidos de las próximas entregas
forecast-nothing = Todavía no hay nada previsto.
forecast-more-crops =
    { $number ->
        [one] { $number } cultivo más no aparece.
       *[other] { $number } cultivos más no aparecen.
    }
forecast-asked = pedido
forecast-promised = prometido
forecast-likely = cosecha probable
forecast-range = { $low } – { $high }
forecast-legend-asked = pedido por clientes
forecast-legend-band = cosecha, 8 veces de cada 10
forecast-legend-promised = prometido a clientes
forecast-legend-median = mitad del pronóstico
forecast-legend-short = quizá falte: se pide más que la mitad del pronóstico
forecast-caption = <b>{ $farm }</b>: cosecha y pedidos
forecast-caption-crop = <b>{ $crop }</b>
forecast-caption-day = { $day }: probable { $low } – { $high }, pedido { $asked }, prometido { $promised }
forecast-caption-short = { $day }: quizá falte. Probable { $low } – { $high }, pedido { $asked }, prometido { $promised }
forecast-caption-more = El resto está en la imagen.

# La semana de la familia.
week-title = Los días de la familia desde el { $first }
week-nothing = Todavía no hay nada previsto.
week-soak = remojar { count-blocks }
week-open = abrir { count-bags }
week-pick = cosechar { $weight }
week-deliver = entregar { $weight }
week-market = mercado { $weight }
week-drop = donar { $weight }
week-caption = <b>{ $farm }</b>: los próximos días
week-caption-day = <b>{ $day }</b>
week-caption-task = { $crop }: { $task }

# Hojas para imprimir.
sheet-page = Página { $page } de { $pages }
sheet-cold = Mantener a 5 °C (41 °F) o menos desde el enfriado hasta la entrega. Sigue las normas locales de higiene de alimentos.
sheet-advice = Sobre las reglas de donaciones e impuestos, pregunta a tu autoridad local y a tu asesor.
sheet-total = Total
packing-title = Lista de empaque para el { $day }
packing-lot = lote { $lot }
packing-totals = Totales
packing-nothing = No hay nada que empacar.
drop-title = Donación: { $partner }
drop-partner = Para
drop-address = Dirección
drop-day = Día
drop-window = Horario
drop-window-times = de { $from } a { $until }
drop-goods = Qué se lleva
drop-weight = Peso entregado
drop-temperature = Temperatura al entregar
drop-receiver = Recibe (nombre)
drop-signature = Firma
drop-time = Día y hora
