//! Every kind of update that the service publishes, in its least and in a full form, and forms that nobody foresaw: none ends
//! the program or holds up the next buyer. The kinds and fields are those of the Bot API reference ("Update", "Message").

use pinset::stage::Stage;
use pinset_tests::farm::{Farm, joined};
use serde_json::{Value, json};

const NOBODY: i64 = 7001;
const GROUP: i64 = -700;

fn user() -> Value {
    json!({ "id": NOBODY, "is_bot": false, "first_name": "Kim", "last_name": "Lee", "username": "kimlee",
        "language_code": "en", "is_premium": true, "added_to_attachment_menu": true })
}

fn user_least() -> Value {
    json!({ "id": NOBODY, "is_bot": false, "first_name": "Kim" })
}

fn group() -> Value {
    json!({ "id": GROUP, "type": "supergroup", "title": "Market", "is_forum": true })
}

fn channel() -> Value {
    json!({ "id": -1_000_000_000_700_i64, "type": "channel", "title": "News", "username": "news" })
}

/// A message of the group with these fields besides.
fn message(fields: Value) -> Value {
    let mut message = json!({ "message_id": 5, "date": 1_780_318_800, "chat": group(), "from": user() });
    let (into, from) = (message.as_object_mut().expect("an object"), fields);
    into.extend(from.as_object().expect("an object").clone());
    message
}

fn photo() -> Value {
    json!([{ "file_id": "a", "file_unique_id": "b", "width": 90, "height": 90, "file_size": 1000 }])
}

fn file() -> Value {
    json!({ "file_id": "a", "file_unique_id": "b" })
}

fn with(mut one: Value, other: Value) -> Value {
    one.as_object_mut().expect("an object").extend(other.as_object().expect("an object").clone());
    one
}

/// Each kind with its least and a full form.
fn kinds() -> Vec<(&'static str, Value, Value)> {
    let least = json!({ "message_id": 5, "date": 0, "chat": { "id": GROUP, "type": "group" } });
    let full = message(json!({
        "message_thread_id": 3, "sender_chat": channel(), "sender_boost_count": 2, "author_signature": "K",
        "sender_business_bot": { "id": 9, "is_bot": true, "first_name": "b" }, "business_connection_id": "c",
        "forward_origin": { "type": "hidden_user", "date": 1, "sender_user_name": "x" }, "is_topic_message": true,
        "is_automatic_forward": true, "reply_to_message": least, "external_reply": {
            "origin": { "type": "chat", "date": 1, "sender_chat": group() }, "chat": group(), "message_id": 2, "photo": photo() },
        "quote": { "text": "q", "position": 0, "is_manual": true, "entities": [{ "type": "brand_new", "offset": 0, "length": 1 }] },
        "reply_to_story": { "chat": channel(), "id": 1 }, "via_bot": { "id": 8, "is_bot": true, "first_name": "v" },
        "edit_date": 2, "has_protected_content": true, "is_from_offline": true, "media_group_id": "m", "text": "hello",
        "entities": [{ "type": "expandable_blockquote", "offset": 0, "length": 5 }, { "type": "from_the_future" }],
        "link_preview_options": { "is_disabled": true }, "effect_id": "e", "paid_star_count": 3,
        "reply_markup": { "inline_keyboard": [[{ "text": "x", "copy_text": { "text": "y" } }]] },
    }));
    let member = |status: &str| json!({ "status": status, "user": user_least() });
    let admin = with(
        member("administrator"),
        json!({ "can_be_edited": true, "is_anonymous": true, "can_manage_chat": true,
        "can_delete_messages": true, "can_post_stories": true, "can_manage_direct_messages": true, "custom_title": "t" }),
    );
    let restricted =
        with(member("restricted"), json!({ "is_member": false, "until_date": 0, "can_send_messages": false }));
    let change = |from: Value, to: Value| {
        json!({ "chat": group(), "from": user(), "date": 1,
        "old_chat_member": from, "new_chat_member": to })
    };
    let business = json!({ "id": "c", "user": user_least(), "user_chat_id": NOBODY, "date": 1, "is_enabled": true });
    let reaction = json!({ "chat": group(), "message_id": 5, "date": 1, "old_reaction": [], "new_reaction": [] });
    let poll = json!({ "id": "p", "question": "?", "options": [], "total_voter_count": 0, "is_closed": false,
        "is_anonymous": true, "type": "regular", "allows_multiple_answers": false });
    let join = json!({ "chat": group(), "from": user_least(), "user_chat_id": NOBODY, "date": 1 });
    let boost = json!({ "boost_id": "b", "add_date": 1, "expiration_date": 2, "source": { "source": "premium", "user": user() } });
    vec![
        ("message", least.clone(), full.clone()),
        ("edited_message", least.clone(), full.clone()),
        (
            "channel_post",
            with(least.clone(), json!({ "chat": channel() })),
            with(full.clone(), json!({ "chat": channel() })),
        ),
        (
            "edited_channel_post",
            with(least.clone(), json!({ "chat": channel() })),
            with(full.clone(), json!({ "chat": channel() })),
        ),
        (
            "business_connection",
            business.clone(),
            with(business, json!({ "can_reply": true, "rights": { "can_reply": true } })),
        ),
        ("business_message", least.clone(), full.clone()),
        ("edited_business_message", least.clone(), full.clone()),
        (
            "deleted_business_messages",
            json!({ "business_connection_id": "c", "chat": group(), "message_ids": [] }),
            json!({ "business_connection_id": "c", "chat": group(), "message_ids": [1, 2, 3] }),
        ),
        (
            "message_reaction",
            reaction.clone(),
            with(
                reaction,
                json!({ "user": user(), "actor_chat": channel(),
            "new_reaction": [{ "type": "emoji", "emoji": "👍" }, { "type": "custom_emoji", "custom_emoji_id": "1" }, { "type": "paid" }] }),
            ),
        ),
        (
            "message_reaction_count",
            json!({ "chat": group(), "message_id": 5, "date": 1, "reactions": [] }),
            json!({ "chat": group(), "message_id": 5, "date": 1, "reactions": [{ "type": { "type": "emoji", "emoji": "🔥" }, "total_count": 3 }] }),
        ),
        (
            "inline_query",
            json!({ "id": "q", "from": user_least(), "query": "", "offset": "" }),
            json!({ "id": "q", "from": user(), "query": "x", "offset": "1", "chat_type": "sender", "location": { "longitude": 1.0, "latitude": 2.0 } }),
        ),
        (
            "chosen_inline_result",
            json!({ "result_id": "r", "from": user_least(), "query": "" }),
            json!({ "result_id": "r", "from": user(), "query": "x", "inline_message_id": "i", "location": { "longitude": 1, "latitude": 2 } }),
        ),
        (
            "callback_query",
            json!({ "id": "1", "from": user_least(), "chat_instance": "c" }),
            json!({ "id": "1", "from": user(), "chat_instance": "c", "data": "no such token", "inline_message_id": "i",
                "message": { "chat": group(), "message_id": 5, "date": 0 } }),
        ),
        (
            "callback_query",
            json!({ "id": "1", "from": user_least(), "chat_instance": "c", "game_short_name": "g" }),
            json!({ "id": "1", "from": user(), "chat_instance": "c", "data": "x", "message": full.clone() }),
        ),
        (
            "shipping_query",
            json!({ "id": "s", "from": user_least(), "invoice_payload": "", "shipping_address": {} }),
            json!({ "id": "s", "from": user(), "invoice_payload": "x", "shipping_address": { "country_code": "US", "state": "",
                "city": "Port Merrow", "street_line1": "12 Quay Street", "street_line2": "", "post_code": "1" } }),
        ),
        (
            "pre_checkout_query",
            json!({ "id": "p", "from": user_least(), "currency": "USD", "total_amount": 0, "invoice_payload": "" }),
            json!({ "id": "p", "from": user(), "currency": "XTR", "total_amount": 10, "invoice_payload": "x", "shipping_option_id": "o",
                "order_info": { "name": "Kim", "phone_number": "1", "email": "a@b.example", "shipping_address": {} } }),
        ),
        (
            "purchased_paid_media",
            json!({ "from": user_least(), "paid_media_payload": "" }),
            json!({ "from": user(), "paid_media_payload": "x" }),
        ),
        (
            "poll",
            poll.clone(),
            with(
                poll,
                json!({ "type": "quiz", "correct_option_id": 0, "explanation": "e", "open_period": 5,
            "question_entities": [], "explanation_entities": [], "close_date": 9,
            "options": [{ "text": "a", "voter_count": 3, "text_entities": [] }, { "text": "b", "voter_count": 0 }] }),
            ),
        ),
        (
            "poll_answer",
            json!({ "poll_id": "p", "option_ids": [] }),
            json!({ "poll_id": "p", "option_ids": [0, 2], "user": user(), "voter_chat": channel() }),
        ),
        ("my_chat_member", change(member("left"), member("member")), change(member("member"), admin.clone())),
        ("my_chat_member", change(admin.clone(), member("kicked")), change(member("member"), restricted.clone())),
        (
            "chat_member",
            change(member("left"), member("member")),
            with(
                change(admin, restricted),
                json!({
            "via_join_request": true, "via_chat_folder_invite_link": true, "invite_link": { "invite_link": "l", "creator": user(),
            "creates_join_request": false, "is_primary": false, "is_revoked": false, "subscription_period": 1, "subscription_price": 2 } }),
            ),
        ),
        (
            "chat_join_request",
            join.clone(),
            with(join, json!({ "bio": "b", "invite_link": { "invite_link": "l", "creator": user() } })),
        ),
        (
            "chat_boost",
            json!({ "chat": channel(), "boost": boost }),
            json!({ "chat": channel(), "boost": { "boost_id": "b",
            "add_date": 1, "expiration_date": 2, "source": { "source": "giveaway", "giveaway_message_id": 1, "prize_star_count": 5, "is_unclaimed": true } } }),
        ),
        (
            "removed_chat_boost",
            json!({ "chat": channel(), "boost_id": "b", "remove_date": 1, "source": {} }),
            json!({ "chat": channel(), "boost_id": "b", "remove_date": 1, "source": { "source": "gift_code", "user": user() } }),
        ),
        (
            "a_kind_of_next_year",
            json!({}),
            json!({ "from": user(), "chat": group(), "things": [1, null, { "deep": [[[]]] }] }),
        ),
    ]
}

/// What a message may hold instead of a text.
fn messages() -> Vec<(&'static str, Value)> {
    let place =
        json!({ "longitude": 1.5, "latitude": 2.5, "live_period": 60, "heading": 1, "horizontal_accuracy": 0.5 });
    let service = json!({});
    vec![
        ("animation", with(file(), json!({ "width": 1, "height": 1, "duration": 1 }))),
        ("audio", with(file(), json!({ "duration": 1, "performer": "p", "thumbnail": photo()[0] }))),
        ("document", file()),
        (
            "paid_media",
            json!({ "star_count": 1, "paid_media": [{ "type": "preview" }, { "type": "photo", "photo": photo() }] }),
        ),
        ("photo", photo()),
        (
            "sticker",
            with(
                file(),
                json!({ "type": "custom_emoji", "width": 1, "height": 1, "is_animated": true, "is_video": false }),
            ),
        ),
        ("story", json!({ "chat": channel(), "id": 1 })),
        (
            "video",
            with(file(), json!({ "width": 1, "height": 1, "duration": 1, "cover": photo(), "start_timestamp": 1 })),
        ),
        ("video_note", with(file(), json!({ "length": 1, "duration": 1 }))),
        ("voice", with(file(), json!({ "duration": 1 }))),
        ("checklist", json!({ "title": "t", "tasks": [{ "id": 1, "text": "x" }] })),
        ("contact", json!({ "phone_number": "1", "first_name": "K", "user_id": 9_007_199_254_740_993_i64 })),
        ("dice", json!({ "emoji": "🎲", "value": 3 })),
        ("game", json!({ "title": "g", "description": "d", "photo": photo() })),
        (
            "poll",
            json!({ "id": "p", "question": "?", "options": [], "total_voter_count": 0, "is_closed": false, "type": "quiz" }),
        ),
        ("venue", json!({ "location": place, "title": "t", "address": "a" })),
        ("location", place),
        ("new_chat_members", json!([user(), user_least()])),
        ("left_chat_member", user()),
        ("new_chat_title", json!("a title")),
        ("new_chat_photo", photo()),
        ("delete_chat_photo", json!(true)),
        ("group_chat_created", json!(true)),
        ("supergroup_chat_created", json!(true)),
        ("channel_chat_created", json!(true)),
        ("message_auto_delete_timer_changed", json!({ "message_auto_delete_time": 60 })),
        ("migrate_from_chat_id", json!(-5)),
        ("pinned_message", json!({ "chat": group(), "message_id": 5, "date": 0 })),
        (
            "invoice",
            json!({ "title": "t", "description": "d", "start_parameter": "", "currency": "XTR", "total_amount": 1 }),
        ),
        (
            "successful_payment",
            json!({ "currency": "XTR", "total_amount": 1, "invoice_payload": "x", "telegram_payment_charge_id": "c",
            "provider_payment_charge_id": "p", "is_recurring": true }),
        ),
        (
            "refunded_payment",
            json!({ "currency": "XTR", "total_amount": 1, "invoice_payload": "x", "telegram_payment_charge_id": "c" }),
        ),
        ("users_shared", json!({ "request_id": 1, "users": [{ "user_id": 1 }] })),
        ("chat_shared", json!({ "request_id": 1, "chat_id": 1 })),
        ("gift", json!({ "gift": { "id": "g" }, "is_private": true })),
        ("unique_gift", json!({ "gift": { "base_name": "b" }, "origin": "resale" })),
        ("connected_website", json!("example.org")),
        ("write_access_allowed", json!({ "from_request": true })),
        ("passport_data", json!({ "data": [], "credentials": {} })),
        ("proximity_alert_triggered", json!({ "traveler": user(), "watcher": user(), "distance": 1 })),
        ("boost_added", json!({ "boost_count": 1 })),
        ("chat_background_set", json!({ "type": { "type": "wallpaper" } })),
        ("checklist_tasks_done", json!({ "marked_as_done_task_ids": [1] })),
        ("checklist_tasks_added", json!({ "tasks": [] })),
        ("direct_message_price_changed", json!({ "are_direct_messages_enabled": true })),
        ("forum_topic_created", json!({ "name": "n", "icon_color": 1 })),
        ("forum_topic_edited", service.clone()),
        ("forum_topic_closed", service.clone()),
        ("forum_topic_reopened", service.clone()),
        ("general_forum_topic_hidden", service.clone()),
        ("general_forum_topic_unhidden", service.clone()),
        ("giveaway_created", service.clone()),
        ("giveaway", json!({ "chats": [], "winners_selection_date": 1, "winner_count": 1 })),
        (
            "giveaway_winners",
            json!({ "chat": channel(), "giveaway_message_id": 1, "winners_selection_date": 1, "winner_count": 0, "winners": [] }),
        ),
        ("giveaway_completed", json!({ "winner_count": 0 })),
        ("paid_message_price_changed", json!({ "paid_message_star_count": 1 })),
        ("suggested_post_approved", json!({ "send_date": 1 })),
        ("video_chat_scheduled", json!({ "start_date": 1 })),
        ("video_chat_started", service.clone()),
        ("video_chat_ended", json!({ "duration": 1 })),
        ("video_chat_participants_invited", json!({ "users": [user()] })),
        ("web_app_data", json!({ "data": "d", "button_text": "b" })),
        ("something_of_next_year", json!([{ "a": null }])),
    ]
}

/// The next buyer is served.
async fn is_served(farm: &Farm, after: &str) -> anyhow::Result<()> {
    let answer = farm.stage.say(farm.heron, "/orders").await?;
    assert!(!answer.is_empty(), "nobody is served after {after}");
    Ok(())
}

fn queue(stage: &Stage, kind: &str, object: Value) {
    let id = stage.server.next_update_id();
    stage.server.queue_raw_update(json!({ "update_id": id, kind: object }));
}

#[tokio::test]
async fn every_kind_of_update_is_passed_over_or_understood_and_the_next_buyer_is_served() -> anyhow::Result<()> {
    let farm = joined().await?;
    farm.stage.server.add_acquaintance(NOBODY, "Kim", Some("en"));
    for (kind, least, full) in kinds() {
        for form in [least, full] {
            queue(&farm.stage, kind, form.clone());
            is_served(&farm, &format!("{kind}: {form}")).await?;
        }
    }
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn every_kind_of_message_is_passed_over_or_understood_and_the_next_buyer_is_served() -> anyhow::Result<()> {
    let farm = joined().await?;
    farm.stage.server.add_acquaintance(NOBODY, "Kim", Some("en"));
    for (field, object) in messages() {
        let private = with(
            message(json!({ field: object })),
            json!({ "chat": { "id": NOBODY, "type": "private" }, "from": user_least() }),
        );
        queue(&farm.stage, "message", message(json!({ field: object })));
        queue(&farm.stage, "message", private);
        is_served(&farm, field).await?;
    }
    farm.stage.close().await;
    Ok(())
}

#[tokio::test]
async fn what_nobody_foresaw_neither_ends_nor_stalls_the_queue() -> anyhow::Result<()> {
    let farm = joined().await?;
    let stage = &farm.stage;
    let far = |id: i64| json!({ "update_id": id, "poll": { "total_voter_count": 1e300 } });
    for raw in [
        json!({ "message": "no number at all" }),
        json!({ "update_id": "seventeen", "message": { "text": "5 lb" } }),
        json!({ "update_id": 1.5 }),
        json!({ "update_id": -3 }),
        json!({ "update_id": 18_446_744_073_709_551_615_u64 }),
        json!({ "update_id": stage.server.next_update_id(), "message": { "chat": 5, "text": ["5 lb"] } }),
        json!({ "update_id": stage.server.next_update_id() + 1, "message": null, "callback_query": {} }),
        json!([1, 2, 3]),
        json!("words"),
        json!(null),
        // Beyond 31, 32 and 33 bits: the service's own are far below.
        far(i64::from(i32::MAX)),
        far(i64::from(u32::MAX)),
        far(1 << 40),
    ] {
        stage.server.queue_raw_update(raw.clone());
        is_served(&farm, &raw.to_string()).await?;
    }
    farm.stage.close().await;
    Ok(())
}
