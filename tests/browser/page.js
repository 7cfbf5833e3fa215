// The page in a browser: joining, saying, pressing, the clock, faults, languages, sizes, colours, keyboard, axe.
// usage: node page.js URL-OF-THE-SCENARIO FOLDER-FOR-SCREENSHOTS
import { createRequire } from "node:module";
import { Board, assert } from "./board.js";
import { withBrowser } from "./open.js";

const [url, pictures] = process.argv.slice(2);
const axePath = createRequire(import.meta.url).resolve("axe-core/axe.min.js");
const INTERACTIVE_MS_MAX = 300;

async function checkAxe(page, where) {
  // The policy of the page lets in no script of others; the debugger's channel does.
  const { readFile } = await import("node:fs/promises");
  await page.evaluate(await readFile(axePath, "utf8"));
  const found = await page.evaluate(() => window.axe.run());
  const serious = found.violations.filter((one) => ["serious", "critical"].includes(one.impact));
  const told = serious.map((one) => `${one.id}: ${one.nodes.slice(0, 3).map((node) => node.html).join(" | ")}`);
  assert(serious.length === 0, `axe finds nothing serious ${where}:\n${told.join("\n")}`);
  const lesser = found.violations.length - serious.length;
  console.log(`axe ${where}: ${found.passes.length} rules kept, 0 serious, ${lesser} lesser`
    + (lesser ? ": " + found.violations.map((one) => one.id).join(", ") : ""));
}

async function noSideways(page, where) {
  const over = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
  assert(over <= 0, `nothing hangs over the side ${where}: ${over} px`);
}

// The farm is used at desktop width, in English.
await withBrowser({ viewport: { width: 1440, height: 900 }, locale: "en-US" }, async (page) => {
  const board = new Board(page);
  // The first load warms the browser's own files; the second is what is measured.
  await board.open(url);
  await board.open(url);
  const ms = await page.evaluate(() => performance.getEntriesByType("navigation")[0].domContentLoadedEventEnd);
  console.log(`interactive after ${Math.round(ms)} ms`);
  assert(ms < INTERACTIVE_MS_MAX, `interactive within ${INTERACTIVE_MS_MAX} ms: ${ms}`);
  assert((await page.textContent("#banner")).includes("nobody outside this page"), "the banner says it is a rehearsal");

  await board.addPerson("Zoe", "es");
  await board.say("Zoe", "hola");
  await board.read("Zoe", "pide a la granja un enlace");
  await board.say("Ada", "/people");
  await board.press("Ada", "grower");
  await board.read("Ada", "Pass this link on");
  await board.openInvitation("Ada", "Zoe");
  const welcome = await board.read("Zoe", "Larkrise Mushrooms", ", Zoe");
  assert((await welcome.locator("b").textContent()) === "Larkrise Mushrooms", "bold is bold");
  assert((await (await board.pane("Zoe")).locator(".tag").textContent()).includes("grower"), "her role is shown");

  // A picture is shown, with words for those who do not see it.
  const picture = await board.read("Mina", "What is coming");
  await picture.locator("img").scrollIntoViewIfNeeded();
  await page.waitForFunction(() => document.querySelector(".slip img")?.naturalWidth === 1);
  assert((await picture.locator("img").getAttribute("alt")).includes("What is coming"), "the picture has its words");

  // A pressed card is edited in place and says so.
  const before = await (await board.pane("Chidi")).locator(".slip").count();
  await board.press("Chidi", "Language and units");
  await board.read("Chidi", "How would you like to read?", "edited");
  assert((await (await board.pane("Chidi")).locator(".slip").count()) === before, "nothing was added");
  await board.press("Chidi", "Español");
  await board.read("Chidi", "¿Cómo");

  // The menu comes from the bot; a command is chosen by keyboard.
  const commands = (await board.pane("Mina")).locator(".write select").last();
  assert((await commands.locator("option").count()) > 3, "the menu has the bot's commands");
  await board.answered(() => commands.selectOption("help"));
  await board.read("Mina", "/help");

  // In the family's group somebody is chosen to speak; a reply keeps what it answers.
  const group = await board.pane("Okoro");
  await group.locator("label", { hasText: "Who writes" }).locator("select").selectOption({ label: "Ngozi" });
  await group.locator(".slip.bot button", { hasText: "Reply" }).last().click();
  await board.say("Okoro", "/help");
  await group.locator(".slip.own", { hasText: "In reply to" }).waitFor();

  // Whoever pressed has the keyboard's place again, in the pane.
  await (await board.pane("Ngozi")).locator(".row button").first().focus();
  await board.answered(() => page.keyboard.press("Enter"));
  await board.read("Ngozi", "How would you like to read?");
  const inPane = () => document.activeElement.closest("section.pane") !== null;
  await page.waitForFunction(inPane);

  // Faults: nothing is lost, nothing is said twice but for a lost answer.
  const texts = async (name) => (await board.pane(name)).locator(".slip.bot").count();
  for (const fault of ["too_many", "server_error", "cut_before"]) {
    const count = await texts("Tom");
    await board.throw(fault);
    await board.say("Tom", "/help");
    await board.step("event");
    await page.waitForFunction(([name, count]) =>
      [...document.querySelectorAll("section.pane")].find((pane) => pane.querySelector("h2").textContent === name)
        .querySelectorAll(".slip.bot").length === count, ["Tom", count + 1]);
  }
  await page.locator("#log td.bad").first().waitFor();
  const count = await texts("Tom");
  await board.throw("duplicate");
  await board.throw("restart");
  await board.say("Tom", "/settings");
  await board.read("Tom", "How would you like to read?");
  assert((await texts("Tom")) === count + 1, "an update that came twice was answered once");

  // The clock only goes forward, and stops at what falls due.
  await page.locator("#date").evaluate((field) => { field.min = ""; });
  await page.fill("#date", "2026-05-01T08:00");
  await board.refused(() => page.locator("#go button").click());
  await page.locator("#say", { hasText: "only goes forward" }).waitFor();
  await board.step("delivery");
  await page.locator("#now", { hasText: "Jun 4" }).waitFor();
  await page.locator("#run").click();
  await page.locator("#run[aria-pressed=true]").waitFor();
  await page.locator("#now", { hasText: "8:00:02" }).waitFor();
  await page.locator("#run").click();
  await page.locator("#run[aria-pressed=false]").waitFor();

  await page.evaluate(() => scrollTo(0, 0));
  await checkAxe(page, "at 1440 px, light");
  await noSideways(page, "at 1440 px");
  await page.screenshot({ path: `${pictures}/page-1440-light.png` });
  await board.speak("es");
  await page.locator("#banner", { hasText: "Ensayo" }).waitFor();
  assert((await page.getAttribute("html", "lang")) === "es", "the page says its language");
  assert((await page.locator("body").innerText()).includes("Qué se envió y cuándo"), "the book is in Spanish");
  assert(!(await page.locator("body").innerText()).includes("page-"), "no word is missing");
  await page.screenshot({ path: `${pictures}/page-1440-spanish.png`, fullPage: true });
  assert(board.faults.length === 0, "the page had no fault:\n" + board.faults.join("\n"));
});

// The same farm on a phone, dark, in Polish and Spanish.
for (const [locale, colorScheme] of [["es-MX", "light"], ["pl-PL", "dark"]]) {
  const options = { viewport: { width: 390, height: 844 }, locale, colorScheme, hasTouch: true, reducedMotion: "reduce" };
  await withBrowser(options, async (page) => {
    const board = new Board(page);
    await board.open(url);
    await noSideways(page, "at 390 px");
    await page.locator("#pegs button", { hasText: "Rosa" }).click();
    await board.say("Rosa", "/help");
    const box = await (await board.pane("Rosa")).boundingBox();
    assert(box.x >= 0 && box.x + box.width <= 390, `the pane fits the phone: ${JSON.stringify(box)}`);
    await page.screenshot({ path: `${pictures}/phone-${colorScheme}.png` });
    await page.evaluate(() => scrollTo(0, 0));
    await page.screenshot({ path: `${pictures}/phone-top-${colorScheme}.png` });
    await page.locator("#add summary").click();
    await page.locator("#trouble summary").click();
    await checkAxe(page, `at 390 px, ${colorScheme}, ${locale}`);
    await noSideways(page, "at 390 px with everything open");
    await page.screenshot({ path: `${pictures}/page-390-${colorScheme}.png`, fullPage: true });
    assert(board.faults.length === 0, "the page had no fault:\n" + board.faults.join("\n"));
  });
}

// Dark on a desktop.
await withBrowser({ viewport: { width: 1440, height: 900 }, locale: "en-US", colorScheme: "dark" }, async (page) => {
  const board = new Board(page);
  await board.open(url);
  await checkAxe(page, "at 1440 px, dark");
  await page.screenshot({ path: `${pictures}/page-1440-dark.png` });
});
console.log("the page holds");
