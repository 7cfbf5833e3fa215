# Lo que cultiva la granja: la lista, un cultivo nuevo y los valores de cada uno.
command-crops = Cultivos: precios, paquetes, uno nuevo
crops-heading = <b>Cultivos</b>
crops-line = { $crop }
crops-line-resting = { $crop }, en pausa
button-new-crop = Cultivo nuevo
button-all-crops = Todos
crop-like-question = Un cultivo nuevo. ¿A cuál se parece al crecer?
button-like-blocks = Como { $crop }: bloques en remojo
button-like-bags = Como { $crop }: bolsas abiertas
crop-name-first = ¿Cómo se llama? Primero en { $language }. También todos los nombres de una vez, con comas: { $languages }.
crop-name-question = ¿Cómo se llama en { $language }?
button-same-name = También { $name }
crop-name-letters = Un nombre tiene de { $least } a { $most } letras y ninguna cifra. Escribe otro.
crop-name-is-crop = «{ $name }» se lee como { $crop }. Escribe otro nombre.
crop-name-is-word = En un pedido, «{ $name }» no se leería como un cultivo. Escribe otro nombre.
crop-names-count = { $number ->
    [one] Escribe un solo nombre, sin comas.
   *[other] Escribe { $number } nombres separados por comas, o uno sin comas.
}
crop-card-heading = <b>{ $crop }</b>
crop-card-name = { $language }: { $name }
crop-card-blocks = Bloques; empiezan con el remojo
crop-card-bags = Bolsas; empiezan al abrirlas
crop-card-first-pick = { $days ->
    [one] Primera cosecha después de { $days } día
   *[other] Primera cosecha después de { $days } días
}
crop-card-first-flush = Primera oleada: { $share } del peso seco
crop-card-keeps = { $days ->
    [one] Dura { $days } día a 5 °C (41 °F) o menos
   *[other] Dura { $days } días a 5 °C (41 °F) o menos
}
crop-card-pack = Se empaca de { $weight } en { $weight }
crop-card-cooling = { $hours ->
    [one] { $hours } hora en la cámara fría antes de empacar
   *[other] { $hours } horas en la cámara fría antes de empacar
}
crop-card-price = { $price } por { $weight }
crop-card-no-price = Todavía sin precio
crop-card-resting = En pausa: sin pedidos nuevos. Lo pedido sigue en pie.
crop-card-from-file = Estos valores están en el archivo de configuración; cámbialos allí.
crop-card-new = Todavía no está en la lista. Toca lo que deba cambiar y luego agrégalo.
button-crop-add = Agregar
button-crop-rest = Dejar en pausa
button-crop-again = Tomar pedidos otra vez
button-crop-name = Nombre: { $language }
button-crop-first-pick = Días a la cosecha
button-crop-first-flush = Primera oleada
button-crop-keeps = Días que dura
button-crop-pack = Paquete
button-crop-cooling = Horas de frío
button-crop-price = Precio
button-crop-no-price = Sin precio
crop-button-days = { $days ->
    [one] { $days } día
   *[other] { $days } días
}
crop-button-hours = { $hours ->
    [one] { $hours } hora
   *[other] { $hours } horas
}
crop-button-share = { $share }
crop-first-pick-question = ¿Cuántos días del inicio a la primera cosecha?
crop-first-flush-question = ¿Cuánto pesa la primera oleada frente al sustrato seco? 40 % son 40 kg de 100 kg secos.
crop-keeps-question = ¿Cuántos días después de la cosecha se puede entregar aún, a 5 °C (41 °F) o menos?
crop-pack-question = ¿De cuánto en cuánto se empaca? Toca o escribe un peso.
crop-cooling-question = ¿Cuántas horas en la cámara fría antes de empacar?
crop-price-question = ¿Cuánto cuesta { $weight }? Escribe por ejemplo <i>12.50</i>.
crop-days-wrong = Escribe los días con un número entero de { $least } a { $most }, por ejemplo 10.
crop-hours-wrong = Escribe las horas con un número entero de { $least } a { $most }, por ejemplo 12.
crop-share-wrong = Escribe un porcentaje de { $least } a { $most }, por ejemplo 40.
crop-pack-wrong = Escribe un peso de { $least } a { $most }, por ejemplo <i>250 g</i>.
crop-price-wrong = Escribe el precio de { $weight }, como máximo { $most }, por ejemplo <i>12.50</i>.
crop-added = Agregado. Ya se puede pedir; con /batch se empieza un lote.
crop-changed = Anotado.
order-resting-crop = Ahora no cultivamos { $crop }. Tenemos { $crops }.
