# The growing plan: what to soak or open by when.
command-plan = Co i kiedy namoczyć lub otworzyć
plan-word-soak = namocz
plan-word-opening = otwórz
plan-word-start = uruchom ponownie
plan-heading = <b>Plan uprawy</b>
plan-nothing = Na to, co dotąd zamówiono, nie trzeba nic moczyć ani otwierać.
plan-rested = • { $batch }: odpoczynek do: { $day }, potem { $begun }
plan-start = • { $delivery }, brakuje { $short }: { $begun } { $units }, najlepiej { $best }, najpóźniej { $latest }
plan-start-part = • { $delivery }, brakuje { $short }: { $begun } { $units }, najlepiej { $best }, najpóźniej { $latest }. Dalej zabraknie { $missing }
plan-too-late = • { $delivery }, brakuje { $short }: za późno, żeby coś zacząć
plan-nothing-ready = • { $delivery }, brakuje { $short }: nic nie jest gotowe do startu
