# The growing plan: what to soak or open by when.
command-plan = What to soak or open, and when
plan-word-soak = soak
plan-word-opening = open
plan-word-start = restart
plan-heading = <b>Growing plan</b>
plan-nothing = Nothing has to be soaked or opened for what is ordered so far.
plan-rested = • { $batch }: rests until { $day }, then { $begun }
plan-start = • { $delivery }, { $short } short: { $begun } { $units }, best { $best }, at the latest { $latest }
plan-start-part = • { $delivery }, { $short } short: { $begun } { $units }, best { $best }, at the latest { $latest }. { $missing } stay short
plan-too-late = • { $delivery }, { $short } short: too late to start anything for it
plan-nothing-ready = • { $delivery }, { $short } short: nothing is ready to start
