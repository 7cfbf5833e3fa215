//! Spanish words and what they stand for, of both sides of the ocean. Accents are dropped before these are looked up.

use super::TemperatureScale::{Celsius, Fahrenheit};
use super::vocabulary::Term::*;
use super::vocabulary::{Entry, Verb};
use chrono::Weekday::*;
use scheduler::quantity::Amount;
use scheduler::quantity::WeightUnit::{Gram, Kilogram, Ounce, Pound};

const HALF: Amount = Amount { numerator: 1, denominator: 2 };
const THIRD: Amount = Amount { numerator: 1, denominator: 3 };
const QUARTER: Amount = Amount { numerator: 1, denominator: 4 };

pub(super) fn entries() -> Vec<Entry> {
    [wishes(), reports(), numbers(), days(), joints(), doubts()].concat()
}

fn wishes() -> Vec<Entry> {
    vec![
        (
            Verb(Verb::Order),
            "pedido|un pedido|pedido nuevo|nuevo pedido|hacer un pedido|pido|pedir|encargo|encargar|ordenar",
        ),
        (
            Polite,
            "quiero|queremos|quisiera|quisiéramos|me gustaría|nos gustaría|necesito|necesitamos|me puedes mandar|me puede mandar|\
             nos puedes mandar|nos puede mandar|puedes mandarme|puede mandarme|puedes mandarnos|mándame|mándanos|mándeme|mándenos|manda|\
             envíame|envíanos|envíeme|envíenos|me mandas|nos mandas|me envías|nos envías|me das|nos das|dame|danos|deme|denos|ponme|ponnos|\
             póngame|pónganos|me pones|nos pones|tráeme|tráenos|tráigame|tráiganos|me traes|nos traes|me puedes traer|nos puedes traer|\
             apúntame|apúntanos|puedes|puede|podrías|podría|podemos pedir|puedo pedir|quiero pedir|queremos pedir|quisiera pedir|\
             vamos a querer|voy a querer|me apuntas|me pueden mandar|nos pueden mandar|pueden|podrían|serían|regálame|regáleme|voy a pedir",
        ),
        (
            Verb(Verb::Same),
            "lo mismo que la semana pasada|igual que la semana pasada|lo mismo que la última vez|lo mismo que la vez pasada|lo mismo|\
             lo de siempre|como siempre|lo de la semana pasada|igual que siempre|lo mismo de siempre|el mismo pedido|el pedido de siempre|\
             lo mismo de la semana pasada|repite el último pedido|repetir el último pedido|repetir pedido|repite el pedido|repetir|repite|\
             lo habitual|pedido habitual|el pedido habitual|mismo pedido|igual que la última vez|otra vez lo mismo|lo mismo otra vez|\
             igual que la vez pasada|el mismo pedido que la semana pasada|lo mismo de la última vez|mi pedido de siempre|nuestro pedido de siempre",
        ),
        (
            Verb(Verb::Skip),
            "salta|saltar|sáltate|saltamos|me salto|nos saltamos|sáltanos|sáltame|saltarme|saltarnos|omitir|omite|saltear|saltéame|brincar|bríncate",
        ),
        (
            Verb(Verb::Nothing),
            "nada|nada para nosotros|nada para mí|sin pedido|sin entrega|no hay pedido|no necesito nada|no necesitamos nada|no quiero nada|no queremos nada|ningún pedido|no me mandes nada|no nos mandes nada|no me traigas nada|no nos traigas nada",
        ),
        (
            Verb(Verb::Change),
            "cambia|cambiar|cámbialo a|cámbiame|cambia mi pedido a|cambia el pedido a|cambiar mi pedido a|cambiar el pedido a|cambia a|\
             cambiar a|cambia mi pedido|cambiar mi pedido|cambia el pedido|cambiar el pedido|que sean|que sea|mejor que sean|ponlo en|modifica|modificar|\
             modifica mi pedido a|modificar mi pedido a|actualiza|actualiza mi pedido a|déjalo en|déjame|déjamelo en|cambio",
        ),
        (
            Verb(Verb::Without),
            "sin|quita|quitar|quítame|quita el|quita las|no necesito|no necesitamos|no quiero|no queremos|no me mandes|no nos mandes|no mandes|\
             no me pongas|no nos pongas|no me traigas|no nos traigas|no envíes|no hace falta|no hacen falta|nada de|ya no hace falta",
        ),
        (
            Verb(Verb::Pause),
            "pausa|pausar|pausa mi pedido|pausa mis pedidos|pausa los pedidos|pausar mi pedido|pausar mis pedidos|pausar los pedidos|pausa todo|en pausa|poner en pausa|suspende|suspender|suspende mis pedidos|suspender pedidos|suspende los pedidos|suspende mi pedido|suspender mis pedidos|suspender mi pedido|cerramos|estamos cerrados|cerrado|cerrados|estaremos cerrados|pausa las entregas|pon en pausa mi pedido|pon en pausa los pedidos|pon en pausa",
        ),
        (
            Verb(Verb::Resume),
            "reanuda|reanudar|reanudar pedidos|reanuda los pedidos|reanuda mi pedido|reanuda mis pedidos|reanudar mis pedidos|reanudar mi pedido|reanudamos|volvemos|ya volvimos|ya abrimos|volvemos a abrir|retomar|retoma|retomamos|retoma mi pedido|retoma los pedidos|empezar de nuevo|empezamos de nuevo|seguimos|continuar|ya estamos de vuelta|estamos de vuelta|ya estamos abiertos",
        ),
        (
            Verb(Verb::End),
            "termina|terminar|termina mi|terminar mi|termina el|no más|ya no quiero|ya no queremos|ya no quiero más|ya no queremos más|no quiero más|no queremos más|deja de mandar|deja de mandarme|deja de mandarnos|deja de traer|acabar|acaba con|da de baja|dar de baja|baja",
        ),
        (
            Standing,
            "pedido fijo|pedidos fijos|el pedido fijo|mi pedido fijo|nuestro pedido fijo|pedido semanal|mi pedido semanal|el pedido semanal|nuestro pedido semanal|pedido recurrente|mi pedido recurrente|pedido permanente|mi pedido permanente|pedido regular|mi pedido regular|fijo|orden fija",
        ),
        (
            Verb(Verb::Cancel),
            "cancela|cancelar|cancela mi pedido|cancela el pedido|cancelar mi pedido|cancelar el pedido|cancelar pedido|cancela todo|\
             cancélalo|cancelo|anula|anular|anula mi pedido|anula el pedido|anular pedido|anular mi pedido|anular el pedido|\
             anúlalo|retira mi pedido|retirar mi pedido|cancela la entrega|cancelar la entrega|cancela nuestro pedido|cancelar la orden|cancela la orden",
        ),
        (
            Verb(Verb::Yes),
            "sí|si|claro|vale|ok|okay|okey|de acuerdo|correcto|confirmo|confirmado|confirmar|está bien|perfecto|dale|así es|exacto|adelante|bueno|sale|por supuesto|sí por favor|eso es|listo|va|muy bien|bien|órale",
        ),
        (
            Verb(Verb::No),
            "no|no gracias|nop|incorrecto|está mal|no está bien|eso no|no es correcto|para nada|no es así",
        ),
        (
            Verb(Verb::Help),
            "ayuda|ayúdame|qué puedes hacer|qué puedo hacer|cómo funciona|cómo funciona esto|cómo pido|comandos|instrucciones|necesito ayuda|cómo hago un pedido|qué puedo decir",
        ),
        (
            Verb(Verb::ShowOrders),
            "mis pedidos|mi pedido|ver mis pedidos|ver mi pedido|ver pedidos|pedidos|nuestros pedidos|nuestro pedido|muéstrame mis pedidos|muestra mis pedidos|\
             qué pedí|qué pedimos|qué he pedido|qué hemos pedido|cuál es mi pedido|qué tengo pedido|qué tenemos pedido|enséñame mis pedidos|lista de pedidos|\
             cómo va mi pedido|estado de mi pedido|qué me toca|qué nos llega|mostrar mis pedidos|muéstrame mi pedido|ver nuestros pedidos",
        ),
        (
            Verb(Verb::Today),
            "qué hay hoy|qué hay para hoy|qué hay que hacer hoy|qué toca hoy|tareas de hoy|trabajo de hoy|lista de hoy|qué tenemos hoy|qué hacemos hoy|ver hoy|las tareas de hoy|qué hay que hacer",
        ),
    ]
}

fn reports() -> Vec<Entry> {
    vec![
        (
            Verb(Verb::Pick),
            "coseché|cosechamos|cosechado|cosechados|cosechadas|recogí|recogimos|recogido|recogidos|corté|cortamos|cortado|hemos cosechado|he cosechado|recolecté|recolectamos|acabo de cosechar|acabamos de cosechar",
        ),
        (
            Verb(Verb::Pins),
            "primordios|primordios en|veo primordios|veo primordios en|vemos primordios|vemos primordios en|hay primordios|hay primordios en|salieron primordios|salieron primordios en|pines|pines en|veo pines|veo pines en|hay pines|hay pines en|primeros primordios|primeros primordios en|ya hay primordios|ya hay primordios en|brotes|brotes en|hay brotes|hay brotes en|botones|botones en",
        ),
        (
            Verb(Verb::Lost),
            "perdí|perdimos|se perdieron|se perdió|perdidos|perdidas|perdido|tiré|tiramos|botamos|boté|desechamos|deseché|descartamos|descarté|hemos perdido|he perdido",
        ),
        (
            Verb(Verb::Soaked),
            "remojé|remojamos|remojados|en remojo|puse en remojo|pusimos en remojo|puestos en remojo|remojado|hemos remojado|he remojado|pusimos a remojar|puse a remojar",
        ),
        (Verb(Verb::Opened), "abrí|abrimos|abiertos|abiertas|abierto|abierta|hemos abierto|he abierto"),
        (
            Verb(Verb::Return),
            "volvimos con|volví con|regresamos con|regresé con|de vuelta con|sobraron|sobró|quedaron|trajimos de vuelta|traje de vuelta|sobró del mercado|sobraron del mercado|del mercado|volvimos del mercado con|regresamos del mercado con|vuelvo con|de vuelta del mercado con|nos sobraron|nos sobró|me sobró|me sobraron|sin vender",
        ),
        (
            Verb(Verb::HandedOver),
            "entregué|entregamos|entregado|entregados|entregadas|dejamos|dejé|entrega hecha|hemos entregado|he entregado|ya entregué|ya entregamos|dejado en el banco de alimentos",
        ),
        (
            Courtesy,
            "por moho|con moho|por contaminación|contaminados|contaminadas|contaminado|por hongo verde|en el banco de alimentos|al banco de alimentos|al comedor|en el comedor|por trichoderma",
        ),
        (Piece, "bloque|bloques|bolsa|bolsas|saco|sacos|tronco|troncos|unidad|unidades"),
        (Batch, "lote|tanda|lote número|lote no|partida"),
        (Degree, "grado|grados"),
        (Scale(Celsius), "c|celsius|centígrados|centígrado"),
        (Scale(Fahrenheit), "f|fahrenheit"),
    ]
}

fn numbers() -> Vec<Entry> {
    let mut entries = vec![
        (One, "un|una"),
        (Part(HALF), "media|medio|mitad"),
        (Part(QUARTER), "cuarto"),
        (Parts(QUARTER), "cuartos"),
        (Part(THIRD), "tercio"),
        (Parts(THIRD), "tercios"),
        (Unit(Pound, 1), "lb|lbs|libra|libras|lib"),
        (Unit(Ounce, 1), "oz|onza|onzas"),
        (Unit(Kilogram, 1), "kg|kgs|kilo|kilos|kilogramo|kilogramos|quilo|quilos|k"),
        (Unit(Gram, 1), "g|gr|grs|gramo|gramos|gms"),
        (Mushroom, "seta|setas|hongo|hongos|champiñón|champiñones"),
        (Number(0), "cero"),
        (Number(1), "uno"),
        (Number(100), "cien"),
        (Ordinal(1), "primero|primer"),
    ];
    let words = [
        "dos",
        "tres",
        "cuatro",
        "cinco",
        "seis",
        "siete",
        "ocho",
        "nueve",
        "diez",
        "once",
        "doce",
        "trece",
        "catorce",
        "quince",
        "dieciséis",
        "diecisiete",
        "dieciocho",
        "diecinueve",
        "veinte",
        "veintiuno|veintiún|veintiuna",
        "veintidós",
        "veintitrés",
        "veinticuatro",
        "veinticinco",
        "veintiséis",
        "veintisiete",
        "veintiocho",
        "veintinueve",
        "treinta",
    ];
    entries.extend(words.into_iter().zip(2..).map(|(word, number)| (Number(number), word)));
    entries.extend(
        ["cuarenta", "cincuenta", "sesenta", "setenta", "ochenta", "noventa"]
            .into_iter()
            .zip(4..)
            .map(|(word, tens)| (Number(tens * 10), word)),
    );
    entries
}

fn days() -> Vec<Entry> {
    let mut entries = vec![
        (Near(0), "hoy|hoy mismo"),
        (Near(1), "mañana|mañana mismo"),
        (Near(2), "pasado mañana"),
        (Near(-1), "ayer"),
        (
            NextDelivery,
            "próxima entrega|la próxima entrega|esta entrega|la próxima vez|esta vez|esta ves|por esta vez|la siguiente entrega|siguiente entrega|próximo pedido|\
             el próximo pedido|este pedido|la entrega que viene|el próximo reparto|próximo reparto",
        ),
        (Next, "próximo|próxima|siguiente|que viene|entrante|que entra"),
        (This, "este|esta|esta misma|este mismo"),
        (Week, "semana|semanas"),
        (Days, "día|días"),
        (Months, "mes|meses"),
        (Weekly(1), "semanal|semanalmente|cada semana|todas las semanas|por semana|a la semana"),
        (
            Weekly(2),
            "quincenal|quincenalmente|cada quincena|cada quince días|cada 15 días|una semana sí y otra no|semana por medio|cada dos semanas|cada 2 semanas",
        ),
        (Every, "cada|todos|todas|todos los|todas las"),
        (TheMany, "los"),
        (
            From,
            "desde|desde el|a partir de|a partir del|empezando|empezando el|comenzando|comenzando el|a contar de|a contar del|empezando en|desde la|a partir de la",
        ),
        (Until, "hasta|hasta el|hasta la"),
        (EndOf, "fin de|el fin de|fines de|finales de|final de|el final de"),
        (Nth, "º"),
    ];
    let weekdays: [(_, &str, &str); 7] = [
        (Mon, "lunes|lun", ""),
        (Tue, "martes", ""),
        (Wed, "miércoles|mié", ""),
        (Thu, "jueves|jue", ""),
        (Fri, "viernes|vie", ""),
        (Sat, "sábado|sáb", "sábados"),
        (Sun, "domingo|dom", "domingos"),
    ];
    for (day, one, many) in weekdays {
        entries.push((Weekday(day), one));
        entries.push((Weekdays(day), many));
    }
    let months = [
        "enero|ene",
        "febrero|feb",
        "marzo",
        "abril|abr",
        "mayo",
        "junio|jun",
        "julio|jul",
        "agosto|ago",
        "septiembre|setiembre|sep|sept",
        "octubre|oct",
        "noviembre|nov",
        "diciembre|dic",
    ];
    entries.extend(months.into_iter().zip(1..).map(|(names, month)| (Month(month), names)));
    entries
}

fn joints() -> Vec<Entry> {
    vec![
        (And, "y|e|más"),
        (The, "el|la|lo|del"),
        (Of, "de"),
        (In, "en|dentro de"),
        (For, "para|pa|pal|por|durante|al"),
        (Each, "cada uno|de cada|de cada uno|cada una|de cada una|de cada tipo"),
        (
            Courtesy,
            "por favor|porfa|porfavor|gracias|muchas gracias|mil gracias|hola|buenos días|buenas tardes|buenas noches|buenas|buen día|saludos|un saludo|\
             a|con|al|equipo|las|amigos|amigo|chicos|chef|me|nos|mi|mis|nuestro|nuestra|es|son|entrega|entregas|mi pedido|\
             el pedido|te lo agradezco|muy amable|solo|tardes|unas gracias|le|les|te|pedido",
        ),
    ]
}

/// Words that change a meaning in ways not read here, and near-twins of known words that are no slips of them.
fn doubts() -> Vec<Entry> {
    let asked = [
        "nunca",
        "jamás",
        "quizá",
        "quizás",
        "tal vez",
        "a lo mejor",
        "igual",
        "excepto",
        "menos",
        "salvo",
        "pero",
        "o",
        "u",
        "en vez de",
        "en lugar de",
        "más bien",
        "a menos que",
        "aproximadamente",
        "aprox",
        "unos",
        "unas",
        "como",
        "casi",
        "alrededor de",
        "cerca de",
        "al menos",
        "por lo menos",
        "como mínimo",
        "como máximo",
        "máximo",
        "mínimo",
        "otro",
        "otra",
        "otros",
        "otras",
        "adicional",
        "extra",
        "agrega",
        "agregar",
        "añade",
        "añadir",
        "par",
        "par de",
        "pocas",
        "pocos",
        "docena",
        "algunos",
        "algunas",
        "ambos",
        "ambas",
        "doble",
        "triple",
        "dos veces",
        "mensual",
        "mensualmente",
        "cada mes",
        "bisemanal",
        "todavía",
        "aún",
        "ni",
        "pasado",
        "pasada",
        "anterior",
        "último",
        "última",
        "también no",
        "tampoco",
        "según",
        "depende",
        "probablemente",
        "creo",
        "después",
        "antes",
        "entre",
        "mitad de",
        "por la mañana",
        "en la mañana",
        "de la mañana",
        "más de",
        "sobre",
        "a las",
        "para las",
        "tarde",
        "noche",
        "madrugada",
    ];
    let mut entries: Vec<Entry> = asked.into_iter().map(|word| (Doubt(word), word)).collect();
    entries.extend(
        ["tienes|tienen|tiene|tendrás|tendrían|hay|habrá|cuánto|cuánta|cuántos|cuántas|cuánto cuesta|a cómo|qué|cuándo|dónde|cuál|cómo|por qué|queda|quedan|les queda|te queda|será posible|aún puedo|todavía puedo|puedo todavía|qué tal"]
            .into_iter()
            .map(|words| (Asking, words)),
    );
    for twin in [
        "cancele",
        "cambie",
        "termine",
        "reanude",
        "suspendi",
        "manzana",
        "manzanas",
        "saldo",
        "nuestras",
        "martillo",
        "marte",
        "cancelada",
        "ostrero",
        "ostentar",
        "otoño",
        "cambiado",
        "calabaza",
        "limpia",
        "mercado",
        "parado",
        "pausado",
        "entregar",
    ] {
        entries.push((Word(twin.to_owned()), twin));
    }
    entries
}
