//! Orders and authorities as a crew, a station and the dispatcher see them.

use maud::{Markup, html};
use session::{
    Role,
    state::sheet::{OrderNow, TrainNow},
};

use super::Live;

/// What an order says, as shown.
pub fn says(live: &Live, order: &OrderNow) -> String {
    let state = &live.state;
    order.text.sentence(&|symbol| state.title(symbol), &|time| {
        state.opening.time(time)
    })
}

fn kind(order: &OrderNow) -> &'static str {
    if order.is_authority() {
        "Authority"
    } else {
        "Order"
    }
}

/// Orders that a train's crew has to repeat, large, above everything else.
pub fn to_repeat(live: &Live, train: &TrainNow) -> Markup {
    let symbol = train.symbol();
    html! {
        @for order in &live.state.sheet.orders {
            @if let Some(copy) = order.copies.iter().find(|copy| copy.train == symbol && !order.over && copy.completed.is_none()) {
                section.order.new data-key={ "order-" (order.number) } aria-label={ (kind(order)) " " (order.number) } {
                    h2 { (kind(order)) " No. " (order.number) }
                    p.says { (says(live, order)) "." }
                    @if copy.repeated.is_some() {
                        p.quiet { "Repeated. It is not in effect until the dispatcher makes it complete." }
                    } @else if live.may_report(train) {
                        @let number = order.number.to_string();
                        (live.press("repeat_order", &[("number:n", &number), ("train", symbol)], "primary big", &format!("I repeat {} {}", kind(order).to_lowercase(), order.number)))
                        p.hint { "Read it aloud to the dispatcher as it stands, then press." }
                    } @else {
                        p.quiet { "The crew has not repeated it yet." }
                    }
                }
            }
        }
    }
}

/// Orders in effect for a train.
pub fn held(live: &Live, train: &TrainNow) -> Markup {
    let held: Vec<&OrderNow> = live
        .state
        .sheet
        .orders
        .iter()
        .filter(|order| order.binds(train.symbol()))
        .collect();
    html! {
        @if !held.is_empty() {
            h2 { "Orders in effect" }
            ul.orders {
                @for order in held {
                    li data-key={ "held-" (order.number) } {
                        strong { "No. " (order.number) } " " (says(live, order)) "."
                        @if order.is_authority() && live.may(Role::Dispatcher) {
                            " " (live.press("give_back", &[("number:n", &order.number.to_string())], "small", "Give back"))
                        }
                    }
                }
            }
        }
    }
}

/// What the dispatcher waits for: copies not repeated, and copies to be made complete.
pub fn open(live: &Live) -> Markup {
    let waiting: Vec<_> = live
        .state
        .sheet
        .orders
        .iter()
        .filter(|order| !order.over)
        .flat_map(|order| order.copies.iter().map(move |copy| (order, copy)))
        .filter(|(_, copy)| copy.completed.is_none())
        .collect();
    html! {
        @if waiting.is_empty() { p.quiet { "No order is waiting." } }
        @else {
            ul.orders {
                @for (order, copy) in waiting {
                    li data-key={ (order.number) "/" (copy.train) } {
                        strong { "No. " (order.number) } " to " (super::train_link(live, &copy.train)) ": " (says(live, order)) ". "
                        @if copy.repeated.is_some() {
                            (live.press("complete_order", &[("number:n", &order.number.to_string()), ("train", &copy.train)], "primary", "Complete"))
                        } @else {
                            span.mark.behind { "\u{25b3} not repeated" }
                        }
                    }
                }
            }
        }
    }
}

/// Orders that the morning's plan needs and that are not given yet, the most pressing first.
pub fn planned(live: &Live) -> Markup {
    let state = &live.state;
    let mut due: Vec<_> = state
        .opening
        .orders
        .iter()
        .filter(|order| {
            let given = state.sheet.orders.iter().any(|one| one.text == order.text);
            let runs = order
                .text
                .trains()
                .iter()
                .all(|symbol| state.train(symbol).is_some_and(TrainNow::active));
            !given && runs
        })
        .collect();
    due.sort_by_key(|order| order.complete);
    html! {
        @if !due.is_empty() {
            details open[due.len() <= 6] data-key="planned-orders" {
                summary { "Orders the plan needs: " (due.len()) " not given yet" }
                ul.orders {
                    @for order in due {
                        @let text = serde_json::to_string(&order.text).unwrap_or_default();
                        @let says = order.text.sentence(&|symbol| state.title(symbol), &|time| state.opening.time(time));
                        li data-key=(text) {
                            (says) ". "
                            span.quiet { "Complete by " (live.time(order.complete)) ", to " (order.to.iter().map(|symbol| state.title(symbol)).collect::<Vec<_>>().join(", ")) ". " }
                            (live.press("issue_order", &[("text:j", &text), ("to:l", &order.to.join(","))], "", "Give it"))
                        }
                    }
                }
            }
        }
    }
}
