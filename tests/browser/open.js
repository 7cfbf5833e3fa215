// One browser for the checks: the distribution's Chromium with an empty profile, and nothing that calls home.
import { mkdtemp, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { chromium } from "playwright-core";

const FLAGS = [
  "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
  "--disable-component-update", "--disable-sync",
];

/** Runs `check` with a browser and ends it, whatever happens. `options` are a context's: size, colours, language. */
export async function withBrowser(options, check) {
  const folder = await mkdtemp(join(tmpdir(), "pinset-browser-"));
  const executablePath = process.env.PINSET_CHROMIUM || "/usr/bin/chromium";
  const context = await chromium.launchPersistentContext(folder, { executablePath, args: FLAGS, ...options });
  try {
    const page = context.pages()[0] || (await context.newPage());
    page.setDefaultTimeout(15000);
    return await check(page, context);
  } finally {
    await context.close();
    await rm(folder, { recursive: true, force: true });
  }
}
