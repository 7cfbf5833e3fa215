// A small echo on grammY: text, button, edit, document, photo. It ends when told "bye".
import { Bot, InlineKeyboard, InputFile } from "grammy";

const api = process.env.ECHO_API.replace(/\/$/, "");
const bot = new Bot(process.env.ECHO_TOKEN, { client: { apiRoot: api } });

bot.command("start", (context) => context.reply("<b>hello</b> from JavaScript", { parse_mode: "HTML" }));
bot.on("message:text", async (context) => {
  const text = context.message.text;
  if (text === "document") {
    const file = new InputFile(new TextEncoder().encode("a list of crates"), "crates.txt");
    await context.replyWithDocument(file, { caption: "the list" });
  } else if (text === "photo") {
    await context.replyWithPhoto(new InputFile(process.env.ECHO_PHOTO), { caption: "the picture" });
  } else if (text === "bye") {
    await context.reply("goodbye");
    await bot.stop();
  } else {
    const reply_markup = new InlineKeyboard().text("Press", "pressed:" + text);
    await context.reply("you said " + text, { reply_markup });
  }
});
bot.on("message:document", async (context) => {
  const file = await context.getFile();
  const response = await fetch(`${api}/file/bot${process.env.ECHO_TOKEN}/${file.file_path}`);
  await context.reply("got " + (await response.text()));
});
bot.on("callback_query:data", async (context) => {
  await context.answerCallbackQuery({ text: "noted" });
  await context.editMessageText("edited after " + context.callbackQuery.data);
});
await bot.start();
