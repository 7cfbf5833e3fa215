"""A small echo on python-telegram-bot: text, button, edit, document, photo. It ends when told "bye"."""

import asyncio
import os

from telegram import InlineKeyboardButton, InlineKeyboardMarkup
from telegram.ext import Application, CallbackQueryHandler, CommandHandler, MessageHandler, filters


async def start(update, _context):
    await update.message.reply_html("<b>hello</b> from Python")


async def echo(update, context):
    text = update.message.text
    if text == "document":
        await update.message.reply_document(b"a list of crates", filename="crates.txt", caption="the list")
    elif text == "photo":
        with open(os.environ["ECHO_PHOTO"], "rb") as photo:
            await update.message.reply_photo(photo, caption="the picture")
    elif text == "bye":
        await update.message.reply_text("goodbye")
        context.application.stop_running()
    else:
        keys = InlineKeyboardMarkup([[InlineKeyboardButton("Press", callback_data="pressed:" + text)]])
        await update.message.reply_text("you said " + text, reply_markup=keys)


async def received(update, _context):
    file = await update.message.document.get_file()
    content = await file.download_as_bytearray()
    await update.message.reply_text("got " + content.decode())


async def pressed(update, _context):
    query = update.callback_query
    await query.answer("noted")
    await query.edit_message_text("edited after " + query.data)


def main():
    asyncio.set_event_loop(asyncio.new_event_loop())
    api = os.environ["ECHO_API"].rstrip("/")
    builder = Application.builder().token(os.environ["ECHO_TOKEN"])
    application = builder.base_url(api + "/bot").base_file_url(api + "/file/bot").build()
    application.add_handler(CommandHandler("start", start))
    application.add_handler(MessageHandler(filters.TEXT, echo))
    application.add_handler(MessageHandler(filters.Document.ALL, received))
    application.add_handler(CallbackQueryHandler(pressed))
    application.run_polling(timeout=5, poll_interval=0)


main()
