//! The office in a real Chromium, at the size of a phone and of a desk: every page is read in every
//! light and audited, and the work people do there is done. Pictures are kept in
//! `target/office-pictures`. Where there is no Chromium the tests say so and pass.

#![allow(
    clippy::print_stdout,
    reason = "says what was skipped and what was measured"
)]

mod driver;

use driver::{Size, Window, audit, auditor, open};

/// Every page with what stands for its name in the pictures.
const PAGES: &[(&str, &str)] = &[
    ("today", "/"),
    ("attention", "/attention"),
    ("explained", "/attention/unknown-name"),
    ("track-chart", "/track-chart"),
    ("stations", "/stations"),
    ("station", "/stations/Sandrill"),
    ("yard", "/stations/Kellander"),
    ("town", "/stations/Sandrill/tracks"),
    ("clearances", "/clearances"),
    ("tonnage", "/tonnage?draw=1"),
    ("engines", "/engines"),
    ("engine", "/engines/402"),
    ("cars", "/cars"),
    ("car", "/cars/CVBE%208805"),
    ("era", "/era?on=1925-01-01"),
    ("shippers", "/shippers"),
    ("waybills", "/waybills"),
    ("timetable", "/timetable"),
    ("train", "/trains/2"),
    ("diagram", "/diagram"),
    ("switching", "/switching"),
    ("switch-list", "/switching/Sandrill"),
    ("switch-step", "/switching/Sandrill?step=2"),
    ("retimed", "/retime?train=2&minutes=21"),
    ("orders", "/orders"),
    ("studies", "/studies"),
    ("rooms", "/rooms"),
    ("crews", "/crews"),
    ("folder", "/folder"),
    ("form", "/edit?file=stations/sandrill.toml"),
    ("record", "/edit?file=trains.toml&at=trains/2"),
    ("sheet", "/edit?file=cars.csv"),
    ("text", "/edit?file=lines/main.toml&as=text"),
    ("paste", "/paste?file=cars.csv"),
    ("style", "/style"),
    ("lost", "/nothing-here"),
];

async fn read_all(size: Size, lights: &[&str]) {
    let Some(window) = Window::new(size).await else {
        return;
    };
    let open = open(&["--example"], |_| {});
    let mut wrong = Vec::new();
    for light in lights {
        window
            .client
            .goto(&format!("{}/style", open.address))
            .await
            .unwrap();
        window.press(&format!("button[value={light}]")).await;
        window
            .until(&format!(
                "document.documentElement.dataset.theme === '{light}'"
            ))
            .await;
        for (name, path) in PAGES {
            window
                .client
                .goto(&format!("{}{path}", open.address))
                .await
                .unwrap();
            let place = format!(
                "{name}, {light}, {}",
                if size == Size::Desk { "desk" } else { "phone" }
            );
            // Nothing makes the page itself wider than the window.
            let over = window
                .script("return document.documentElement.scrollWidth - document.documentElement.clientWidth")
                .await;
            if over.as_i64() != Some(0) {
                wrong.push(format!("{place}: {over} pixels wider than the window"));
            }
            if let Some(source) = auditor() {
                wrong.extend(
                    audit(&window, source)
                        .await
                        .into_iter()
                        .map(|line| format!("{place}: {line}")),
                );
            }
            window.picture(&place.replace(", ", "-")).await;
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[tokio::test]
async fn every_page_reads_at_a_desk_in_every_light() {
    read_all(Size::Desk, &["light", "dark", "red"]).await;
}

#[tokio::test]
async fn every_page_reads_on_a_phone() {
    read_all(Size::Phone, &["light", "red"]).await;
}

#[tokio::test]
async fn a_siding_is_corrected_and_the_correction_taken_back() {
    for size in [Size::Desk, Size::Phone] {
        let Some(window) = Window::new(size).await else {
            return;
        };
        let open = open(&["--example"], |_| {});
        let file = open.path("stations/sandrill.toml");
        let before = std::fs::read_to_string(&file).unwrap();
        window
            .client
            .goto(&format!("{}/stations/Sandrill", open.address))
            .await
            .unwrap();
        window.press("a[href$='/tracks']").await;
        let field = "[name='v:tracks/siding/length']";
        // What cannot be read is said beside the field while one types.
        window.fill(field, "nine feet or so").await;
        window
            .until(
                "document.getElementById('n:tracks/siding/length')?.textContent.includes('nine')",
            )
            .await;
        window
            .until(&format!(
                "document.querySelector(\"{field}\").getAttribute('aria-invalid') === 'true'"
            ))
            .await;
        window
            .picture(if size == Size::Desk {
                "flow-wrong-desk"
            } else {
                "flow-wrong-phone"
            })
            .await;
        window.fill(field, "6 ft").await;
        window
            .until("/Well|attention|mended/.test(document.querySelector('#verdict').textContent)")
            .await;
        window
            .picture(if size == Size::Desk {
                "flow-typed-desk"
            } else {
                "flow-typed-phone"
            })
            .await;
        window.press("button.primary").await;
        window.until("document.querySelector('.diff')").await;
        assert_eq!(std::fs::read_to_string(&file).unwrap(), before);
        window
            .picture(if size == Size::Desk {
                "flow-review-desk"
            } else {
                "flow-review-phone"
            })
            .await;
        window.press("form[action='/write'] button.primary").await;
        window
            .until("location.pathname === '/stations/Sandrill'")
            .await;
        assert!(window.text().await.contains("6'-0\""));
        assert_eq!(
            std::fs::read_to_string(&file).unwrap(),
            before.replace("11 ft 2 in", "6 ft")
        );
        window.press("form.desk button[value=undo]").await;
        window
            .until("document.body.innerText.includes(`11'-2\"`)")
            .await;
        assert_eq!(std::fs::read_to_string(&file).unwrap(), before);
    }
}

#[tokio::test]
async fn a_diagnostic_is_followed_to_its_field_and_mended() {
    let Some(window) = Window::new(Size::Desk).await else {
        return;
    };
    let open = open(&["--example"], |folder| {
        let file = folder.join("stations/wendry.toml");
        let text = std::fs::read_to_string(&file).unwrap();
        let line = text
            .lines()
            .find(|line| line.starts_with("mile = "))
            .unwrap();
        std::fs::write(&file, text.replace(line, "mile = \"two hundred\"")).unwrap();
    });
    window.client.goto(&open.address).await.unwrap();
    window.press(".letterhead .state a").await;
    window.until("location.pathname === '/attention'").await;
    window.picture("flow-attention-desk").await;
    window.press("article.diagnostic a.button").await;
    window
        .until("document.getElementById('v:mile')?.getAttribute('aria-invalid') === 'true'")
        .await;
    window.picture("flow-mend-desk").await;
    window.fill("[name='v:mile']", "186").await;
    window
        .until("!document.getElementById('v:mile').hasAttribute('aria-invalid')")
        .await;
    window.press("button.primary").await;
    window.until("document.querySelector('.diff')").await;
    window.press("form[action='/write'] button.primary").await;
    window.until("location.pathname === '/edit'").await;
    let text = open.file("stations/wendry.toml");
    assert!(text.contains("mile = 186"), "{text}");
    assert!(!window.text().await.contains("two hundred"));
}

#[tokio::test]
async fn forty_cars_are_pasted() {
    let Some(window) = Window::new(Size::Phone).await else {
        return;
    };
    let open = open(&["--example"], |_| {});
    let mut rows = String::from("Road\\tNumber\\tCar type\\tLength\\tBuilt\\n");
    for at in 0..40 {
        rows.push_str(&format!(
            "CVBE\\t{}\\tboxcar\\t5.6 in\\t1926\\n",
            99_000 + at
        ));
    }
    window
        .client
        .goto(&format!("{}/paste?file=cars.csv", open.address))
        .await
        .unwrap();
    // As the clipboard does it: all at once.
    window
        .script(&format!(
            "document.querySelector('#rows').value = \"{rows}\""
        ))
        .await;
    window.press("button.primary").await;
    window
        .until("document.body.innerText.includes('40 rows would be added')")
        .await;
    window.picture("flow-paste-phone").await;
    window.press("button[value=write]").await;
    window.until("location.pathname === '/edit'").await;
    let text = open.file("cars.csv");
    assert_eq!(text.matches("CVBE,990").count(), 40);
}

/// Keys as the protocol names them.
const TAB: &str = "\u{e004}";
const ENTER: &str = "\u{e007}";
const RIGHT: &str = "\u{e014}";

#[tokio::test]
async fn a_switch_is_moved_by_keyboard_alone() {
    let Some(window) = Window::new(Size::Desk).await else {
        return;
    };
    let open = open(&["--example"], |_| {});
    window
        .client
        .goto(&format!("{}/stations/Sandrill/tracks", open.address))
        .await
        .unwrap();
    let send = async |keys: &str| {
        window
            .client
            .active_element()
            .await
            .unwrap()
            .send_keys(keys)
            .await
            .unwrap();
    };
    // The first stop is the way past the letterhead and the contents.
    window
        .script("document.activeElement.blur(); window.focus()")
        .await;
    window
        .client
        .find(fantoccini::Locator::Css("body"))
        .await
        .unwrap()
        .send_keys(TAB)
        .await
        .unwrap();
    window
        .until("document.activeElement.className === 'skip'")
        .await;
    send(ENTER).await;
    window.until("document.activeElement.id === 'page'").await;
    for _ in 0..40 {
        send(TAB).await;
        if window
            .script("return document.activeElement.dataset.switch === 'r2'")
            .await
            == serde_json::Value::Bool(true)
        {
            break;
        }
    }
    window
        .until("document.activeElement.dataset.switch === 'r2'")
        .await;
    let field = "document.getElementById('v:switches/r2/at').value";
    let before = window.script(&format!("return {field}")).await;
    assert_eq!(before, "3 ft 10 in");
    send(RIGHT).await;
    send(RIGHT).await;
    window.until(&format!("{field} === '4 ft'")).await;
    // Drawn anew, and the keys still hold the switch.
    window
        .until("document.querySelector('#verdict').textContent.length > 0")
        .await;
    window
        .until("document.activeElement.dataset.switch === 'r2'")
        .await;
    window.picture("flow-switch-desk").await;
    send(ENTER).await;
    window
        .until("document.activeElement.id === 'v:switches/r2/at'")
        .await;
    send(ENTER).await;
    window.until("document.querySelector('.diff')").await;
    assert!(window.text().await.contains("4 ft"));
}

#[tokio::test]
async fn a_change_made_outside_is_told_to_an_open_page() {
    let Some(window) = Window::new(Size::Desk).await else {
        return;
    };
    let open = open(&[], |_| {});
    window
        .client
        .goto(&format!("{}/folder", open.address))
        .await
        .unwrap();
    let file = open.path("railroad.toml");
    let text = std::fs::read_to_string(&file).unwrap();
    std::fs::write(&file, format!("{text}# by hand\n")).unwrap();
    window.until("document.querySelector('.news button')").await;
    window.press(".news button").await;
    window.until("!document.querySelector('.news')").await;
}

#[tokio::test]
async fn a_train_is_dragged_the_day_made_anew_and_the_drag_taken_back() {
    let Some(window) = Window::new(Size::Desk).await else {
        return;
    };
    let open = open(&["--example"], |_| {});
    let before = open.file("trains.toml");
    window
        .client
        .goto(&format!("{}/diagram?line=Main%20Line", open.address))
        .await
        .unwrap();
    window.until("!document.querySelector('[data-waiting]') && document.querySelector('a.string[data-train=\"41\"]')").await;
    window.picture("flow-diagram-desk").await;
    // As a hand does it: down on the train, along, and up.
    window
        .script(
            "const rail = document.querySelector('a.string[data-train=\"41\"] .reach');
             rail.scrollIntoView({ block: 'center' });
             const box = rail.getBoundingClientRect();
             const at = (type, x) => new PointerEvent(type, { bubbles: true, button: 0, clientX: x, clientY: box.top + 5 });
             rail.dispatchEvent(at('pointerdown', box.left + 5));
             dispatchEvent(at('pointermove', box.left + 55));
             dispatchEvent(at('pointerup', box.left + 55));",
        )
        .await;
    window
        .until("document.querySelector('#tried h2')?.textContent.includes('41')")
        .await;
    window.picture("flow-dragged-desk").await;
    assert_eq!(open.file("trains.toml"), before);
    window.press("#tried button.primary").await;
    window
        .until("location.pathname === '/diagram' && document.querySelector('form.desk')")
        .await;
    assert_ne!(open.file("trains.toml"), before);
    window
        .until("!document.querySelector('[data-waiting]')")
        .await;
    // What the drag did to the day, beside the plan before it.
    window.press("a[href*='compare=1']").await;
    window
        .until("document.querySelector('ul.changes li')?.textContent.includes('41')")
        .await;
    window.picture("flow-compared-desk").await;
    window.press("form.desk button[value=undo]").await;
    window
        .until("document.querySelector('form.desk button[value=redo]')")
        .await;
    assert_eq!(open.file("trains.toml"), before);
}

#[tokio::test]
async fn a_train_is_moved_by_keyboard_alone() {
    let Some(window) = Window::new(Size::Phone).await else {
        return;
    };
    let open = open(&["--example"], |_| {});
    window
        .client
        .goto(&format!("{}/diagram?line=Main%20Line", open.address))
        .await
        .unwrap();
    window
        .until("!document.querySelector('[data-waiting]')")
        .await;
    window
        .script("document.querySelector('a.string[data-train=\"2\"]').focus()")
        .await;
    for press in 1..=3 {
        window
            .client
            .active_element()
            .await
            .unwrap()
            .send_keys(">")
            .await
            .unwrap();
        window
            .until(&format!(
                "document.querySelector('#tried h2')?.textContent.includes('{press} min later')"
            ))
            .await;
        window
            .until("document.activeElement.dataset.train === '2'")
            .await;
    }
    window.picture("flow-moved-phone").await;
}

/// Where two trains meet by the plan, read off the page of one of them.
async fn meets_at(window: &Window, open: &driver::Open, train: &str, other: &str) -> Vec<String> {
    window
        .client
        .goto(&format!("{}/trains/{train}", open.address))
        .await
        .unwrap();
    window
        .until("!document.querySelector('[data-waiting]')")
        .await;
    let rows = window
        .script(&format!(
            "return [...document.querySelectorAll('table')[0].rows].filter((row) =>
               [...row.cells].at(-1).innerText.split(/[;(]/).some((part) => part.trim().split(' ').at(-1) === '{other}'))
               .map((row) => row.cells[0].innerText)"
        ))
        .await;
    rows.as_array()
        .unwrap()
        .iter()
        .map(|name| name.as_str().unwrap().to_owned())
        .collect()
}

#[tokio::test]
async fn a_shortened_siding_moves_the_meet() {
    let Some(window) = Window::new(Size::Desk).await else {
        return;
    };
    let open = open(&["--example"], |_| {});
    let before = meets_at(&window, &open, "2", "46").await;
    assert_eq!(before, ["Stirrup Wells"]);
    window
        .client
        .goto(&format!(
            "{}/edit?file=stations/stirrup-wells.toml&at=tracks%2Fsiding",
            open.address
        ))
        .await
        .unwrap();
    window.fill("[name='v:tracks/siding/length']", "2 ft").await;
    window
        .until("document.querySelector('#verdict').textContent.length > 0")
        .await;
    window.press("button.primary").await;
    window.until("document.querySelector('.diff')").await;
    window.press("form[action='/write'] button.primary").await;
    window.until("location.pathname === '/edit'").await;
    let after = meets_at(&window, &open, "2", "46").await;
    assert_ne!(after, before);
    window.picture("flow-meet-moved-desk").await;
}

#[tokio::test]
async fn a_long_work_is_begun_left_found_again_and_stopped() {
    let Some(window) = Window::new(Size::Desk).await else {
        return;
    };
    let open = open(&["--example"], |_| {});
    window
        .client
        .goto(&format!("{}/studies", open.address))
        .await
        .unwrap();
    window.fill("#towns-sessions", "1000").await;
    window
        .script("document.querySelector('#towns-sessions').form.requestSubmit()")
        .await;
    window
        .until("document.querySelector('main [data-waiting] progress')")
        .await;
    let here = window.script("return location.pathname").await;
    window
        .client
        .goto(&format!("{}/cars", open.address))
        .await
        .unwrap();
    window
        .client
        .goto(&format!("{}{}", open.address, here.as_str().unwrap()))
        .await
        .unwrap();
    window
        .until("document.querySelector('main progress')")
        .await;
    window.press("form[action$='/stop'] button").await;
    window
        .until("document.body.innerText.includes('sessions were planned')")
        .await;
    window.picture("flow-study-desk").await;
}

/// Figures for BENCHMARKS.md: run with SAWBY_SLOW=1 and --nocapture, in a release build. Nothing is
/// held to them here.
#[tokio::test]
async fn what_the_pages_take_on_a_slow_phone() {
    if std::env::var_os("SAWBY_SLOW").is_none() {
        println!("skipped: measures only with SAWBY_SLOW=1");
        return;
    }
    let Some(window) = Window::new(Size::Phone).await else {
        return;
    };
    let began = std::time::Instant::now();
    let open = open(&["--example"], |_| {});
    println!(
        "from start to the open port, with `sawby new` before it: {:.0} ms",
        began.elapsed().as_secs_f64() * 1000.0
    );
    // A phone of the middle class: four times slower than this machine, on a fast mobile network.
    window.command(
        "Emulation.setCPUThrottlingRate",
        &serde_json::json!({ "rate": 4 }),
    );
    window.command("Network.enable", &serde_json::json!({}));
    window.command(
        "Network.emulateNetworkConditions",
        &serde_json::json!({ "offline": false, "latency": 60, "downloadThroughput": 1_100_000, "uploadThroughput": 400_000 }),
    );
    println!(
        "{:<14} {:>11} {:>11} {:>11}",
        "page", "paint, ms", "page, kB", "all, kB"
    );
    for cold in [true, false] {
        for (name, path) in PAGES {
            if cold {
                window.command("Network.clearBrowserCache", &serde_json::json!({}));
                if !matches!(*name, "today" | "timetable" | "yard" | "sheet") {
                    continue;
                }
            }
            window
                .client
                .goto(&format!("{}{path}", open.address))
                .await
                .unwrap();
            window
                .until("performance.getEntriesByName('first-contentful-paint').length")
                .await;
            let found = window
                .script(
                    "const page = performance.getEntriesByType('navigation')[0];
                     const rest = performance.getEntriesByType('resource').filter((one) => !one.name.includes('/news'));
                     return [performance.getEntriesByName('first-contentful-paint')[0].startTime,
                       page.decodedBodySize, page.decodedBodySize + rest.reduce((sum, one) => sum + one.decodedBodySize, 0)]",
                )
                .await;
            let figure = |at: usize| found[at].as_f64().unwrap_or(0.0);
            println!(
                "{:<14} {:>11.0} {:>11.1} {:>11.1}",
                if cold {
                    format!("{name}, new")
                } else {
                    (*name).to_owned()
                },
                figure(0),
                figure(1) / 1000.0,
                figure(2) / 1000.0
            );
        }
    }
    window.command(
        "Emulation.setCPUThrottlingRate",
        &serde_json::json!({ "rate": 1 }),
    );
    window
        .client
        .goto(&format!("{}/diagram?line=Main%20Line", open.address))
        .await
        .unwrap();
    window
        .until("!document.querySelector('[data-waiting]')")
        .await;
    let mut took = Vec::new();
    for at in 0..40 {
        let train = ["2", "4", "41", "45", "3"][at % 5];
        let minutes = 3 + at;
        let one = window
            .client
            .execute_async(
                &format!(
                    "const done = arguments[arguments.length - 1]; const began = performance.now();
                     fetch('/retime/try?train={train}&minutes={minutes}&line=Main%20Line').then((a) => a.json()).then((a) => {{
                       document.querySelector('svg.diagram').outerHTML = a.drawing; requestAnimationFrame(() => done(performance.now() - began)); }})"
                ),
                Vec::new(),
            )
            .await
            .unwrap();
        took.push(one.as_f64().unwrap_or(f64::NAN));
    }
    took.sort_by(f64::total_cmp);
    println!(
        "from the end of a drag to the new diagram, of 40: median {:.0} ms, 95th of 100 {:.0} ms",
        took[20], took[37]
    );
}
