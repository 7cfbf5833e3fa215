# Pictures and printed sheets: all plain text but the captions.

# The forecast picture. Columns, then what each mark means.
forecast-title = Harvest and orders for the coming deliveries
forecast-nothing = Nothing planned yet.
forecast-more-crops =
    { $number ->
        [one] { $number } more crop is not shown.
       *[other] { $number } more crops are not shown.
    }
forecast-asked = asked
forecast-promised = promised
forecast-likely = likely harvest
forecast-range = { $low } – { $high }
forecast-legend-asked = asked by buyers
forecast-legend-band = harvest, 8 times out of 10
forecast-legend-promised = promised to buyers
forecast-legend-median = middle of the forecast
forecast-legend-short = probably short: more is asked than the middle
forecast-caption = <b>{ $farm }</b>: harvest and orders
forecast-caption-crop = <b>{ $crop }</b>
forecast-caption-day = { $day }: likely { $low } – { $high }, asked { $asked }, promised { $promised }
forecast-caption-short = { $day }: probably short. Likely { $low } – { $high }, asked { $asked }, promised { $promised }
forecast-caption-more = The rest is in the picture.

# The family's week.
week-title = The family's days from { $first }
week-nothing = Nothing planned yet.
week-soak = soak { count-blocks }
week-open = open { count-bags }
week-pick = pick { $weight }
week-deliver = deliver { $weight }
week-market = market { $weight }
week-drop = give { $weight }
week-caption = <b>{ $farm }</b>: the coming days
week-caption-day = <b>{ $day }</b>
week-caption-task = { $crop }: { $task }

# Printed sheets.
sheet-page = Page { $page } of { $pages }
sheet-cold = Keep at or below 5 °C (41 °F) from cooling to handover. Follow your local food safety codes.
sheet-advice = For the rules on donations and tax, ask your local authority and your adviser.
sheet-total = Total
packing-title = Packing list for { $day }
packing-lot = lot { $lot }
packing-totals = Totals
packing-nothing = Nothing to pack.
drop-title = Donation: { $partner }
drop-partner = To
drop-address = Address
drop-day = Day
drop-window = Time
drop-window-times = { $from } to { $until }
drop-goods = What is brought
drop-weight = Weight handed over
drop-temperature = Temperature at handover
drop-receiver = Received by (name)
drop-signature = Signature
drop-time = Day and time
