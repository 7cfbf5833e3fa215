count-blocks =
    { $number ->
        [one] { $number } bloque
       *[other] { $number } bloques
    }
count-bags =
    { $number ->
        [one] { $number } bolsa
       *[other] { $number } bolsas
    }
command-shelves = Qué hay en los estantes
command-pick = Anotar una cosecha
command-batch = Empezar un lote
button-shelves = Estantes
button-new-batch = Lote nuevo
button-earlier-page = ← Atrás
button-later-page = Más →
button-pick = Cosechado…
button-pins = Brotes hoy
button-last-pick = Terminó la oleada
button-soaked-today = Remojado hoy
button-opened-today = Abierto hoy
button-whole-soaked = Remojado: { $units }
button-whole-opened = Abierto: { $units }
button-lost = Perdido…
button-spent = Agotado…
batch-name = { $crop }, { $units }, { $room }
batch-label-soaked = { $batch } (remojado: { $day })
batch-label-opened = { $batch } (abierto: { $day })
batch-label-waiting = { $batch } (desde: { $day })
shelves-heading = <b>En los estantes</b>
shelves-empty = No hay nada en los estantes. Empieza un lote con /batch.
shelves-page = Página { $page } de { $pages }
shelf-heading = <b>{ $batch }</b>, lote { $place }, oleada { $number } de { $flushes }
shelf-to-soak = Por remojar; aquí desde: { $day }
shelf-to-open = Por abrir; aquí desde: { $day }
shelf-soaked = Remojado: { $day }
shelf-opened = Abierto: { $day }
shelf-resting = En descanso desde: { $day }
shelf-pins = Brotes: { $day }
shelf-picked = Cosechado hasta ahora: { $weight }
shelf-lost = Perdido: { $units }
shelf-spent = Agotado, fuera de los estantes.
growing-nothing = Está bien, no se anotó nada.
no-batch-of = No hay { $crop } en los estantes; no se anotó nada. Empieza un lote con /batch.
batch-is-spent = { $batch }: ese lote está agotado. No se anotó nada.
batch-unknown = No conozco ese lote. Elige uno en /shelves.
batch-of-another-crop = { $batch }: ese lote no es de { $crop }. No se anotó nada.
which-batch = ¿Qué lote?
none-to-begin = Todos esos lotes ya se remojaron o abrieron. Mira /shelves.
none-for-pins = Ninguno de esos lotes espera brotes. Escribe primero cuándo se remojó o abrió.
none-to-pick = Ese día no había nada remojado ni abierto, así que no hay nada que cosechar y no se anotó nada. Anota eso primero.
none-so-many = A ningún lote le quedan tantos. No se anotó nada.
not-soaked = { $batch }: todavía no se remojó. Escribe primero cuándo se remojó; no se anotó nada.
not-opened = { $batch }: todavía no se abrió. Escribe primero cuándo se abrió; no se anotó nada.
already-soaked = { $batch }: ya se remojó, { $day }. No se cambió nada.
already-opened = { $batch }: ya se abrió, { $day }. No se cambió nada.
already-pins = { $batch }: los brotes ya están anotados, { $day }. No se cambió nada.
already-resting = { $batch }: está en descanso. Escribe primero cuándo empezó otra vez; no se anotó nada.
day-to-come = Ese día todavía no llega: { $day }. No se anotó nada de { $batch }; revisa la fecha.
before-received = { $batch }: llegó este día: { $since }. Esta fecha es anterior: { $day }. No se anotó nada.
before-last-pick = { $batch }: la última cosecha de la oleada anterior fue este día: { $since }. Esta fecha es anterior: { $day }. No se anotó nada.
before-soaked = { $batch }: se remojó este día: { $since }. Esta fecha es anterior: { $day }. No se anotó nada.
before-opened = { $batch }: se abrió este día: { $since }. Esta fecha es anterior: { $day }. No se anotó nada.
whole-batch-soaked = Un lote se remoja completo, y este tiene { $units }: { $batch }. ¿Se remojó todo?
whole-batch-opened = Un lote se abre completo, y este tiene { $units }: { $batch }. ¿Se abrió todo?
done-soaked = Anotado: remojado.
done-opened = Anotado: abierto.
done-pins = Anotado: brotes.
done-lost = Anotado, perdido: { $units }, { $day }.
done-undone = Deshecho. Ahora está así:
done-last-pick = Terminó la oleada { $number }: { $weight } en total. El lote descansa.
done-last-flush = Terminó la oleada { $number }: { $weight } en total. Era la última; el lote está agotado.
done-spent = Anotado: agotado.
undo-late = { $batch }: ya hubo cambios después; no se puede deshacer.
flush-undo-late = Ya hubo cambios después en ese lote; no se puede deshacer.
lost-question = { $batch }: ¿cuántos se perdieron? Escribe el número o toca uno.
lost-too-many = Solo quedan { $units }. No se anotó nada; revisa el número.
spent-question = { $batch }: ¿está agotado? Sale de los estantes para siempre.
new-batch-crop = ¿De qué hongo?
new-batch-blocks = ¿Cuántos bloques? Escribe el número o toca uno.
new-batch-bags = ¿Cuántas bolsas? Escribe el número o toca una.
new-batch-dry = { $units }. ¿Cuánto pesa el aserrín o la paja en seco de cada uno? Escribe <i>2 libras</i>, o el peso húmedo con su humedad: <i>5 libras al 60 %</i>.
new-batch-dry-range = { $weight } en seco por unidad no puede ser. Escribe un peso entre { $least } y { $most }.
new-batch-moisture-range = Escribe la humedad como un solo número entre 1 y 95, por ejemplo <i>5 libras al 60 %</i>.
new-batch-room = { $dry } en seco cada uno. ¿En qué cuarto? Escribe su nombre o toca uno.
new-batch-room-name = Escribe un nombre del cuarto de { $most } caracteres como máximo. No se anotó nada.
batch-started = Anotado: lote nuevo, { $dry } en seco cada uno, recibido hoy.
batch-undone = Deshecho: { $batch }. Ya no está en los estantes.
weight-please = Escribe un peso, por ejemplo <i>4 libras</i> o <i>1.8 kg</i>.
pick-where = ¿Qué se cosechó?
pick-which-batch = ¿De qué lote: { $amount }?
pick-how-much = { $batch }: ¿cuánto se cosechó? Escribe el peso o toca uno.
pick-too-little = Es muy poco. Escribe al menos { $least }; no se anotó nada.
pick-too-heavy = { $batch }: serían { $total } y puede dar { $limit } cuando mucho. No se anotó nada; revisa la báscula.
pick-heavy-question = { $batch }: con { $amount } la oleada pasa de su peso en seco. ¿Es correcto?
pick-twice-question = { $batch }: ya están anotados { $amount } ese día. ¿Es otra cosecha?
done-picked = Cosechado: { $amount } ({ $batch }), { $day }.
done-picked-keeps = En la cámara fría. Para empacar desde: { $ready }. Dura hasta: { $until }.
pick-undone = Deshecho: { $amount }.
pick-undo-late = Ya estaba deshecho, o una parte ya salió de la cámara fría. No se cambió nada.
button-warmth = Temperatura del cuarto…
warmth-question = { $room }: ¿qué temperatura hay, en { $unit }? Escribe el número.
warmth-please = Escribe una temperatura, por ejemplo <i>14 °C</i> o <i>58 F</i>.
warmth-which-room = { $temperature }: ¿en qué cuarto?
warmth-which-scale = { $room }: ¿en qué escala?
warmth-unknown-room = Ningún cuarto con estantes se llama { $room }. No se anotó nada; ¿cuál es?
warmth-range = { $temperature } no puede ser la temperatura de un cuarto de cultivo. Escribe algo entre { $least } y { $most }; no se anotó nada.
warmth-done = Anotado: { $room }, { $temperature } hoy. El pronóstico ya lo tiene en cuenta.
warmth-days =
    { $days ->
        [one] A esta temperatura, { $crop }: cerca de { $days } día hasta la primera cosecha.
       *[other] A esta temperatura, { $crop }: cerca de { $days } días hasta la primera cosecha.
    }
warmth-too-cold = Hace demasiado frío para { $crop } (fructifica de { $low } a { $high }): vendrá tarde, si viene.
warmth-too-warm = Hace demasiado calor para { $crop } (fructifica de { $low } a { $high }): no vendrá antes y puede dañarse.
