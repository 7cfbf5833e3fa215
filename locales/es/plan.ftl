# The growing plan: what to soak or open by when.
command-plan = Qué remojar o abrir y cuándo
plan-word-soak = remojar
plan-word-opening = abrir
plan-word-start = reiniciar
plan-heading = <b>Plan de cultivo</b>
plan-nothing = Para lo pedido hasta ahora no hay que remojar ni abrir nada.
plan-rested = • { $batch }: descansa hasta: { $day }; después, { $begun }
plan-start = • { $delivery }, faltan { $short }: { $begun } { $units }, mejor fecha: { $best }, a más tardar: { $latest }
plan-start-part = • { $delivery }, faltan { $short }: { $begun } { $units }, mejor fecha: { $best }, a más tardar: { $latest }. Seguirán faltando { $missing }
plan-too-late = • { $delivery }, faltan { $short }: ya es tarde para empezar algo
plan-nothing-ready = • { $delivery }, faltan { $short }: no hay nada listo para empezar
