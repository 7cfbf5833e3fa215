// A week of the made-up farm, played by hand in the browser, nothing but chats and the clock: an order, a shortage
// answered, what the market did not sell, an offer, a food-bank drop and its reminder.
// usage: node week.js URL FOLDER en|es
import { Board, assert } from "./board.js";
import { withBrowser } from "./open.js";

const [url, pictures, language] = process.argv.slice(2);

/** What people write, press and read. Rosa and Lucía read Spanish in both weeks. */
const WORDS = {
  en: {
    locale: "en-US", invite: "Invite a contact", newBank: "New food bank",
    batch: "shiitake", soaked: "soaked 70 blocks", picked: "picked 20 lb shiitake", over: "Flush is over",
    order: "15 lb shiitake for Thursday", yes: "Yes, that's right", ordered: "Done.",
    short: "you asked for 15 lb, we can promise 10 lb", take: "Take 10 lb", taken: "10 lb shiitake (you asked for 15 lb)",
    better: "there is more for you", settled: "the time for answers is over", table: "As a table", packed: "All packed as listed",
    run: "Delivery run", delivered: "All delivered", done: "all delivered", left: "5 lb free",
    market: "Market: shiitake", all: "All 5 lb", kept: "is kept for the market", toMarket: "Off to the market",
    gone: "Off to the market: 5 lb", back: "Back from the market", whatBack: "What came back", weight: "4 lb shiitake",
    returned: "Back in the cold room: 4 lb", offer: "Offer shiitake", seen: "We have 4 lb shiitake left", half: "Half",
    yours: "Yours:", takes: "Saltmarsh Bakery takes", agreed: "Merrow Community Pantry agreed", drop: "A drop for you",
    eve: "Food-bank drop", leave: "Time to get ready", handed: "Handed over as planned",
    banner: "nobody outside this page",
  },
  es: {
    locale: "es-MX", invite: "Invitar a un contacto", newBank: "Banco de alimentos nuevo",
    batch: "shiitake", soaked: "remojamos 70 bloques", picked: "cosechamos 20 lb de shiitake", over: "Terminó la oleada",
    order: "15 libras de shiitake para el jueves", yes: "Sí, correcto", ordered: "Listo.",
    short: "pediste 15 lb, podemos prometer 10 lb", take: "Quiero 10 lb", taken: "10 lb de shiitake (pediste 15 lb)",
    better: "15 lb de shiitake", settled: "15 lb", table: "En tabla", packed: "Todo empacado según la lista",
    run: "Recorrido", delivered: "Todo entregado", done: "todo entregado", left: "5 lb",
    market: "Mercado: shiitake", all: "Todo 5 lb", kept: "mercado", toMarket: "Sale al mercado",
    gone: "Salió al mercado: 5 lb", back: "Vuelve del mercado", whatBack: "¿Qué volvió", weight: "4 lb de shiitake",
    returned: "De vuelta en la cámara fría: 4 lb", offer: "Ofrecer shiitake", seen: "Nos quedan 4 lb de shiitake", half: "La mitad",
    yours: "Para ti:", takes: "Saltmarsh Bakery", agreed: "Merrow Community Pantry aceptó", drop: "Una entrega para ti",
    eve: "Entrega al banco de alimentos", leave: "Hora de prepararse", handed: "Entregado según lo previsto",
    banner: "nadie fuera de esta página",
  },
};
const words = WORDS[language];

await withBrowser({ viewport: { width: 1440, height: 900 }, locale: words.locale }, async (page) => {
  const board = new Board(page);
  await board.open(url);
  assert((await page.textContent("#banner")).includes(words.banner), "the banner says it is a rehearsal");
  if (language === "es") {
    for (const name of ["Ada", "Chidi", "Ngozi", "Mina", "Tom"]) {
      await board.say(name, "/settings");
      await board.press(name, "Español");
    }
    await board.say("Okoro", "/group");
  }

  // A food bank and its contact, by chat; the contact opens the invitation in her own pane.
  await board.addPerson("Lucía", "es");
  await board.say("Ada", "/foodbanks");
  await board.press("Ada", words.newBank);
  const hours = language === "es" ? "lun 9:00-12:00, mar 9:00-12:00" : "Mon 9:00-12:00, Tue 9:00-12:00";
  const weights = language === "es" ? "2 lb a 60 lb" : "2 lb to 60 lb";
  for (const answer of ["Merrow Community Pantry", "12 Quay Street, Port Merrow", "25", hours, weights]) {
    await board.say("Ada", answer);
  }
  await board.press("Ada", words.invite);
  await board.openInvitation("Ada", "Lucía");
  await board.read("Lucía", "Larkrise Mushrooms");

  // Shelves and two orders that are more than there will be.
  await board.say("Chidi", "/batch");
  await board.press("Chidi", words.batch);
  for (const answer of ["70", "2 lb", "cool room", words.soaked, words.picked]) await board.say("Chidi", answer);
  await board.press("Chidi", words.over);
  await board.say("Mina", words.order);
  await board.press("Mina", words.yes);
  await board.read("Mina", words.ordered, "15 lb");
  await board.say("Rosa", WORDS.es.order);
  await board.press("Rosa", WORDS.es.yes);
  await board.read("Rosa", WORDS.es.ordered, "15 lb");

  // Cut-off: both are told, both answer.
  await board.moveTo("2026-06-02T18:01");
  await board.read("Mina", words.short);
  await board.read("Rosa", WORDS.es.short);
  await page.screenshot({ path: `${pictures}/week-${language}-cutoff.png` });
  await board.press("Mina", words.take);
  await board.read("Mina", words.taken);
  await board.press("Rosa", "Cancelar shiitake");
  await board.read("Mina", words.better, "15 lb");
  await board.read("Okoro", words.settled, "Night Heron Noodle Bar");

  // Packed in the family's group, driven, delivered.
  await board.moveTo("2026-06-04T06:30");
  // The list as a file can be saved.
  await board.press("Okoro", words.table);
  const file = (await board.pane("Okoro")).locator(".slip a[download]").last();
  const saved = await page.evaluate(async (at) => (await (await fetch(at)).arrayBuffer()).byteLength, await file.getAttribute("href"));
  assert(saved > 0, "the packing list has something in it");
  await board.press("Okoro", words.packed);
  await board.moveTo("2026-06-04T09:30");
  await board.press("Ngozi", words.delivered);
  await board.read("Ngozi", words.done);

  // What is left goes to the market; most of it comes back.
  await board.moveTo("2026-06-04T13:01");
  await board.read("Ada", words.left);
  await board.press("Ada", words.market);
  await board.press("Ada", words.all);
  await board.read("Ada", words.kept);
  await board.moveTo("2026-06-06T07:30");
  await board.say("Ada", "/left");
  await board.press("Ada", words.toMarket);
  await board.read("Ada", words.gone);
  await board.moveTo("2026-06-06T14:00");
  await board.say("Ada", "/left");
  await board.press("Ada", words.back);
  await board.read("Ada", words.whatBack);
  await board.say("Ada", words.weight);
  await board.read("Ada", words.returned);

  // Offered to everybody, half of it taken by somebody else; the offer's card changes in place for the others.
  await board.press("Ada", words.offer);
  await board.read("Rosa", WORDS.es.seen);
  await board.read("Tom", words.seen);
  await board.press("Tom", words.half);
  await board.read("Tom", words.yours);
  await board.read("Ada", words.takes);

  // The rest: the food bank agrees, the driver is reminded the evening before and before leaving.
  await board.moveTo("2026-06-07T12:00");
  await board.press("Lucía", "De acuerdo");
  await board.read("Ada", words.agreed);
  await board.read("Ngozi", words.drop);
  await board.moveTo("2026-06-07T19:00");
  await board.read("Ngozi", words.eve);
  await page.screenshot({ path: `${pictures}/week-${language}-drop.png`, fullPage: true });
  const reminded = await (await board.pane("Ngozi")).locator(".slip.bot").count();
  await board.moveTo("2026-06-08T08:30");
  await board.read("Ngozi", words.leave);
  assert((await (await board.pane("Ngozi")).locator(".slip.bot").count()) >= reminded, "a reminder is never lost");
  await board.press("Ngozi", words.handed);
  await board.read("Lucía", "comida.");
  assert(board.faults.length === 0, "the page had no fault:\n" + board.faults.join("\n"));
});
console.log(`a week in ${language} was played to its end`);
