command-order = Pedir para la próxima entrega
command-standing = Pedidos fijos
command-orders = Lo que viene

order-day = <b>{ $day }</b>
order-line-once = { $amount }
order-line-standing = { $amount } (pedido fijo)
order-line-changed = { $amount } (pedido fijo, normalmente { $usual })
order-nothing = Nada pedido.
order-standing-rests = Tus pedidos fijos descansan ese día.
order-closes = Los pedidos cierran: { $until }.
order-done = Listo. Queda así:
order-undone = Deshecho. Queda así:
order-as-it-was = Ya estaba así:
order-left = No se cambió nada:
order-changed-meanwhile = Cambió mientras tanto, así que no lo toqué. Ahora:
order-told = { $name } cambió el pedido:
order-told-undone = { $name } deshizo el último cambio:

order-too-much = { $crop }: cada renglón puede ser de { $greatest } como máximo. No se cambió nada.
order-too-little = { $crop }: el paquete más pequeño es de { $smallest }. No se cambió nada.
order-unknown-crop = No cultivamos { $crop }. Tenemos { $crops }.
order-day-past = Ya pasó: { $day }.
order-day-far = Falta demasiado: { $day }. Tomamos pedidos para el próximo año.
order-day-closed = Los pedidos ya están cerrados: { $day }.
order-day-none = Ese día no hay entrega: { $day }.
order-still-possible = Todavía puedes pedir para el { $day }. Cierre: { $until }.
order-no-delivery = Por ahora no hay entregas previstas. Pregunta a la granja.
order-which-day = ¿Para qué entrega?
order-no-last-time = No encuentro un pedido anterior que repetir. Escribe lo que necesitas, por ejemplo <i>5 libras de shiitake</i>.
order-nothing-to-skip = No había nada que quitar:

order-understood = Entendí { $amounts } para el { $day }.
order-understood-change = Entendí { $amounts } en total para el { $day }.
order-right-question = ¿Es correcto?
order-beside-question = Ese día ya te llegan { $standing } por tu pedido fijo. ¿{ $asked } en su lugar o además?
order-edit-day = Para el { $day }:
order-edit-line = { $amount } (ahora { $was })
order-edit-off = Fuera: { $amount }
order-edit-none = Nada de { $crop }
order-edit-standing = Sus pedidos fijos:
order-make-which = ¿{ $weight } de cuál, para el { $day }?
order-skip-question = ¿Quitar { $amounts } del { $day }?
order-withdraw-question = ¿Retirar { $amounts } del { $day }? Los pedidos fijos siguen.
order-undo-nothing = No hay ningún cambio que deshacer.
order-undo-overtaken = Después hubo otro cambio, así que dejé todo como está. Mira /orders.
order-undo-closed = Los pedidos ya cerraron y esto no se puede deshacer aquí. Escribe a la granja.

order-button-less = − { $crop }
order-button-more = + { $crop }
order-button-same = Lo mismo que la última vez
order-button-nothing = Nada esta vez
order-button-other-day = Otra fecha
order-button-standing = Pedidos fijos
order-button-undo = Deshacer
order-button-that-day = Para { $day }
order-button-right = Sí, correcto
order-button-mend = No, cambiarlo
order-button-in-place = En su lugar
order-button-on-top = Además
order-button-leave = Dejarlo como está
order-button-change-day = Cambiar { $day }
order-button-sooner = ‹ Antes
order-button-later = Después ›
order-button-history = Lo que ya recibí
order-button-coming = Lo que viene

order-award = { $crop }: pedido { $asked }, prometido { $promised }
order-award-delivered = { $crop }: pedido { $asked }, prometido { $promised }, entregado { $delivered }
order-along = Además, de una oferta: { $what }
order-no-history = Todavía no hubo entregas.
order-type-weight = Escribe el peso con su unidad, por ejemplo <i>5 libras</i> o <i>2.5 kg</i>.
order-weight-unread = Necesito un número y su unidad, por ejemplo <i>5 libras</i> o <i>2.5 kg</i>. No se cambió nada.

standing-heading = <b>Pedidos fijos</b>
standing-none = Todavía no tienes.
standing-line = <b>{ $amount }</b>, { $rhythm }
standing-every-week = cada { $days }
standing-every-second-week = cada dos semanas: { $days }
standing-every-weeks =
    { $weeks ->
        [one] cada { $weeks } semana: { $days }
       *[other] cada { $weeks } semanas: { $days }
    }
standing-own-dates = en fechas propias
standing-next = Próxima entrega: { $day }
standing-no-next = No quedan fechas.
standing-rests = En pausa hasta que avises.
standing-rests-until = En pausa hasta el { $day }.
standing-changed = { $day }: { $weight } solo esta vez
standing-no-delivery = { $day }: no hay entrega, así que no se pide nada. Usa /order para otro día.
standing-until = Último día: { $day }
standing-unreadable = Tu pedido fijo de { $crop } no se puede leer y no pide nada. La granja ya lo sabe. Puedes terminarlo y hacer uno nuevo en /standing.
standing-unreadable-family = El pedido fijo de { $buyer } ({ $crop }) no se puede leer en la base de datos y no pide nada. El restaurante también lo ve. <code>pinset check</code> dice cuál es.

standing-understood = Entendí { $amounts }, { $rhythm }, desde el { $day }.
standing-replaces = Desde entonces reemplaza { $amounts }.
standing-weekdays = Solo entregamos estos días: { $days }.
standing-weeks-limit =
    { $most ->
        [one] Puede ser cada { $most } semana como máximo.
       *[other] Puede ser cada 1 a { $most } semanas.
    }
standing-until-early = Terminaría antes de su primera entrega. No se cambió nada.
standing-which-weekday = ¿Qué día?
standing-which-crop = ¿Qué hongo?
standing-which-weight = ¿Cuánto de { $crop } cada vez?
standing-how-often = { $amount }, ¿cada cuánto?
standing-until-when = Sin entregas fijas por un tiempo. ¿Cuándo empiezan otra vez?
standing-pause-early = Una pausa hasta el { $day } no saltaría nada: la próxima entrega que aún puedes cambiar es el { $next }.
standing-pause-question = ¿Pausar todos los pedidos fijos desde el { $from } y empezar otra vez el { $until }?
standing-pause-open-question = ¿Pausar todos los pedidos fijos desde el { $from } hasta que avises?
standing-end-question = ¿Terminar tu pedido fijo de { $amounts }?
standing-not-there = No existe ese pedido fijo:
standing-file = Tus entregas fijas del próximo medio año, para tu calendario.
standing-file-empty = No viene ninguna entrega fija, así que no hay nada para el calendario.
standing-file-event = { $farm }: { $amounts }

standing-button-new = Nuevo pedido fijo
standing-button-pause = Pausar
standing-button-resume = Empezar otra vez
standing-button-file = Para el calendario
standing-button-end = Terminar { $crop }
standing-button-other-weight = Otro peso
standing-button-skip = Saltar { $day }
standing-button-one-date = Cambiar solo { $day }
standing-button-weekly = Cada semana
standing-button-second = Cada dos semanas
standing-button-every-delivery = Todos los días de entrega
standing-button-back = Otra vez desde { $day }
standing-button-open-end = Hasta que avise
