# Imágenes y hojas para imprimir: todo texto sin formato, menos los pies de foto.

# La imagen del pronóstico. Columnas y luego lo que significa cada marca.
picture-forecast-title = Cosecha y pedidos de las próximas entregas
picture-forecast-nothing = Todavía no hay nada previsto.
picture-forecast-more-crops =
    { $number ->
        [one] { $number } cultivo más no aparece.
       *[other] { $number } cultivos más no aparecen.
    }
picture-forecast-asked = pedido
picture-forecast-promised = prometido
picture-forecast-likely = cosecha probable
picture-forecast-range = { $low } – { $high }
picture-forecast-legend-asked = pedido por clientes
picture-forecast-legend-band = cosecha, 8 veces de cada 10
picture-forecast-legend-promised = prometido a clientes
picture-forecast-legend-median = mitad del pronóstico
picture-forecast-legend-short = quizá falte: se pide más que la mitad del pronóstico
picture-forecast-caption = <b>{ $farm }</b>: cosecha y pedidos
picture-forecast-caption-crop = <b>{ $crop }</b>
picture-forecast-caption-day = { $day }: probable { $range }, pedido { $asked }, prometido { $promised }
picture-forecast-caption-short = { $day }: quizá falte. Probable { $range }, pedido { $asked }, prometido { $promised }
picture-forecast-caption-more = El resto está en la imagen.

# La semana de la familia.
picture-week-title = La semana de la familia desde el { $first }
picture-week-nothing = Todavía no hay nada previsto.
picture-week-soak = remojar { count-blocks }
picture-week-open = abrir { count-bags }
picture-week-pick = cosechar ≈ { $weight }
picture-week-deliver = entregar { $weight }
picture-week-market = mercado { $weight }
picture-week-drop = donar { $weight }
picture-week-caption = <b>{ $farm }</b>: los próximos días
picture-week-caption-day = <b>{ $day }</b>
picture-week-caption-task = { $crop }: { $task }

# Hojas para imprimir.
sheet-page = Página { $page } de { $pages }
sheet-cold = Mantener a 5 °C (41 °F) o menos desde el enfriado hasta la entrega. Sigue las normas locales de higiene de alimentos.
sheet-advice = Sobre las reglas de donaciones e impuestos, pregunta a tu autoridad local y a tu asesor.
sheet-total = Total
sheet-packing-title = Lista de empaque para el { $day }
sheet-packing-lot = cosecha { $lot }
sheet-packing-no-lot = sin registrar
sheet-packing-totals = Totales
sheet-packing-nothing = No hay nada que empacar.
sheet-drop-title = Donación: { $partner }
sheet-drop-partner = Para
sheet-drop-address = Dirección
sheet-drop-day = Día
sheet-drop-window = Horario
sheet-drop-window-times = de { $from } a { $until }
sheet-drop-goods = Qué se lleva
sheet-drop-weight = Peso entregado
sheet-drop-temperature = Temperatura al entregar
sheet-drop-receiver = Recibe (nombre)
sheet-drop-signature = Firma
sheet-drop-time = Día y hora

# Where the harvest went.
picture-went-title = A dónde fue la cosecha, semana por semana
picture-went-nothing = Nada ha salido de la cámara fría en estas semanas.
picture-went-week = Semana del { $monday }
picture-went-sold = vendido { $weight }
picture-went-offered = ofertas { $weight }
picture-went-market = mercado { $weight }
picture-went-dried = secado { $weight }
picture-went-given = donado { $weight }
picture-went-lost = perdido { $weight }
picture-went-caption = <b>{ $farm }</b>: a dónde fue la cosecha
picture-went-caption-week = <b>{ $monday }</b>: { $parts }

# The year's sheet of what was given.
sheet-cultivated = Solo hongos cultivados. Cocinar antes de comer; no para quien tenga alergia a los hongos.
sheet-given-title = Donado a bancos de alimentos en { $year }
sheet-given-caution = Es un registro, no un consejo: consulta a un asesor fiscal. Las deducciones y la protección de quien dona dependen de la ley local.
sheet-given-months = Por banco de alimentos y mes
sheet-given-meals =
    { $meals ->
        [one] { $meals } comida
       *[other] { $meals } comidas
    } de 1.2 lb de alimento (Feeding America, según USDA)
sheet-given-entries = Todas las anotaciones
sheet-given-column-value = valor
sheet-given-correction = { $crop }, corrección
sheet-given-value = Valor al precio de la granja
sheet-given-basis = Costo, según la familia
sheet-given-deduction = Según 26 U.S.C. 170(e)(3)(B), antes de su tope, si se cumplen las condiciones (consulta a un asesor)
