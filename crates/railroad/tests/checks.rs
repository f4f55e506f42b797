//! Where the checks across cars, traffic and trains begin and end: each pair of railroads lies on
//! the two sides of one line.

use model::units::Actual;
use railroad::{Loaded, fixture, load};

fn read(text: &str) -> Loaded {
    load(&fixture::folder(text))
}

/// The codes of what is found, each once.
fn codes(text: &str) -> Vec<&'static str> {
    let mut codes: Vec<&str> = read(text)
        .diagnostics
        .iter()
        .map(|found| found.rule.code)
        .collect();
    codes.sort_unstable();
    codes.dedup();
    codes
}

#[track_caller]
fn finds(text: &str, code: &str) {
    let codes = codes(text);
    assert!(codes.contains(&code), "no `{code}` among {codes:?}");
}

#[track_caller]
fn clean(text: &str) {
    let loaded = read(text);
    assert_eq!(loaded.report(model::diagnostic::Look::Plain), "");
}

/// `railroad.toml` of the smallest railroad on another day, with more at its end.
fn on(day: &str, more: &str) -> String {
    format!(
        "--- railroad.toml\nformat = 1\nname = \"Smallest Railroad\"\nmarks = \"SMR\"\nscale = \"HO\"\n\
         date = {day}\nequipment_from = 1895\nclock = 4\n{more}\n"
    )
}

/// A line of three stations, the middle one with what `birch` says.
fn three_stations(birch: &str) -> String {
    format!(
        "--- lines/main.toml\nname = \"Main\"\n\n[[open]]\nfrom = \"Alder\"\nto = \"Birch\"\n\
         length = \"20 ft\"\nelevation = [\"40 in\", \"42 in\"]\n\n[[open]]\nfrom = \"Birch\"\n\
         to = \"Cedar\"\nlength = \"20 ft\"\nelevation = [\"42 in\", \"42 in\"]\n\
         --- stations/cedar.toml\nname = \"Cedar\"\nline = \"Main\"\nmile = 9\nelevation = \"42 in\"\n\n\
         [tracks]\nmain = {{ from = \"W\", to = \"E\", length = \"12 ft\", use = \"main\" }}\n\
         --- stations/birch.toml\nname = \"Birch\"\nline = \"Main\"\nmile = 4.5\nelevation = \"42 in\"\n{birch}\n"
    )
}

/// A main and a siding whose length the owner measured.
fn siding(usable: &str) -> String {
    three_stations(&format!(
        "\n[tracks]\nmain = {{ from = \"W\", to = \"E\", length = \"12 ft\", usable = \"5 ft\", use = \"main\" }}\n\
         siding = {{ from = \"s1\", to = \"s2\", length = \"9 ft\", usable = \"{usable}\", use = \"siding\" }}\n\n\
         [switches]\ns1 = {{ on = \"main\", at = \"1 ft\", points = \"W\", hand = \"left\", number = 6 }}\n\
         s2 = {{ on = \"main\", at = \"11 ft\", points = \"E\", hand = \"right\", number = 6 }}\n"
    ))
}

/// Two trains that meet at Birch, of these lengths.
fn meeting(first: &str, second: &str) -> String {
    format!(
        "--- trains.toml\n[trains.1]\nclass = 2\ndirection = \"east\"\nfrom = \"Alder\"\nto = \"Cedar\"\n\
         leave = \"8:00 AM\"\narrive = \"9:00 AM\"\nengines = [\"12\"]\nmax_length = \"{first}\"\n\
         meets = [{{ train = \"2\", at = \"Birch\" }}]\n\n[trains.2]\nclass = 2\ndirection = \"west\"\n\
         from = \"Cedar\"\nto = \"Alder\"\nleave = \"8:10 AM\"\narrive = \"9:10 AM\"\nengines = [\"14\"]\n\
         max_length = \"{second}\"\nmeets = [{{ train = \"1\", at = \"Birch\" }}]\n"
    )
}

#[test]
fn the_shorter_of_two_trains_decides_whether_they_can_meet() {
    let code = "meet-siding-too-short";
    let fits = siding("7 ft") + &meeting("9 ft", "7 ft");
    assert!(!codes(&fits).contains(&code), "{:?}", codes(&fits));
    finds(&(siding("7 ft") + &meeting("9 ft", "85 in")), code);
    finds(&(siding("7 ft") + &meeting("85 in", "9 ft")), code);
}

#[test]
fn a_siding_shortened_by_two_feet_names_the_train_and_the_amount() {
    assert!(
        !codes(&(siding("9 ft") + &meeting("9 ft", "8 ft"))).contains(&"meet-siding-too-short")
    );
    let loaded = read(&(siding("7 ft") + &meeting("9 ft", "8 ft")));
    let found = loaded
        .diagnostics
        .iter()
        .find(|found| found.rule.code == "meet-siding-too-short")
        .expect("the siding is too short");
    assert!(
        found.message.contains("train 2 is 8'-0\", 1'-0\" too long"),
        "{}",
        found.message
    );
    assert!(
        found.help[0].contains("limit train 2 to 7'-0\""),
        "{:?}",
        found.help
    );
}

#[test]
fn shortening_the_siding_alone_is_enough() {
    // The main beside it is left as long as it was, as one who edits a single line leaves it.
    let road = |length: &str| {
        three_stations(&format!(
            "\n[tracks]\nmain = {{ from = \"W\", to = \"E\", length = \"12 ft\", use = \"main\" }}\n\
             siding = {{ from = \"s1\", to = \"s2\", length = \"{length}\", use = \"siding\" }}\n\n\
             [switches]\ns1 = {{ on = \"main\", at = \"1 ft\", points = \"W\", hand = \"left\", number = 6 }}\n\
             s2 = {{ on = \"main\", at = \"11 ft\", points = \"E\", hand = \"right\", number = 6 }}\n"
        )) + &meeting("9 ft", "7 ft")
    };
    assert!(!codes(&road("10 ft")).contains(&"meet-siding-too-short"));
    let loaded = read(&road("8 ft"));
    let found = loaded
        .diagnostics
        .iter()
        .find(|found| found.rule.code == "meet-siding-too-short");
    let message = &found.expect("the siding is too short").message;
    assert!(message.contains("its `siding` holds 5'-"), "{message}");
}

#[test]
fn a_second_main_is_as_good_as_a_siding() {
    let two_mains = three_stations(
        "ends = [\"W\", \"E\"]\n\n[tracks]\nmain = { from = \"W\", to = \"E\", length = \"14 ft\", use = \"main\" }\n\
         \"second main\" = { from = \"s1\", to = \"s2\", length = \"12 ft\", use = \"main\" }\n\n[switches]\n\
         s1 = { on = \"main\", at = \"1 ft\", points = \"W\", hand = \"left\", number = 6 }\n\
         s2 = { on = \"main\", at = \"13 ft\", points = \"E\", hand = \"right\", number = 6 }\n",
    );
    let found = codes(&(two_mains + &meeting("9 ft", "8 ft")));
    assert!(
        !found.iter().any(|code| code.starts_with("meet")),
        "{found:?}"
    );
}

#[test]
fn two_trains_meet_at_a_junction_where_their_ways_touch_only_beyond_the_standing_one() {
    // The branch joins the main east of where train 1 waits; no siding is needed.
    let junction = "--- lines/main.toml\nname = \"Main\"\n\n[[open]]\nfrom = \"Alder\"\nto = \"Birch\"\n\
        length = \"20 ft\"\n\n[[open]]\nfrom = \"Birch\"\nto = \"Cedar\"\nlength = \"20 ft\"\n\
        --- lines/branch.toml\nname = \"Branch\"\nkind = \"branch\"\ndirections = [\"south\", \"north\"]\n\
        ends = [\"S\", \"N\"]\n\n[[open]]\nfrom = \"Birch\"\nto = \"Fir\"\nlength = \"20 ft\"\n\
        --- stations/fir.toml\nname = \"Fir\"\nline = \"Branch\"\nmile = 3\n\n[tracks]\n\
        main = { from = \"S\", to = \"bumper\", length = \"10 ft\", use = \"main\" }\n\
        --- stations/cedar.toml\nname = \"Cedar\"\nline = \"Main\"\nmile = 9\n\n[tracks]\n\
        main = { from = \"W\", to = \"E\", length = \"12 ft\", use = \"main\" }\n\
        --- stations/birch.toml\nname = \"Birch\"\nline = \"Main\"\nmile = 4.5\n\
        also = [{ line = \"Branch\", mile = 0 }]\nkind = \"junction\"\n\n[tracks]\n\
        main = { from = \"W\", to = \"E\", length = \"14 ft\", use = \"main\" }\n\
        siding = { from = \"s1\", to = \"s2\", length = \"9 ft\", use = \"siding\" }\n\
        branch = { from = \"s3\", to = \"N\", length = \"7 ft\", use = \"connection\" }\n\n[switches]\n\
        s1 = { on = \"main\", at = \"1 ft\", points = \"W\", hand = \"left\", number = 6 }\n\
        s2 = { on = \"main\", at = \"11 ft\", points = \"E\", hand = \"right\", number = 6 }\n\
        s3 = { on = \"main\", at = \"13 ft\", points = \"E\", hand = \"right\", number = 6 }\n";
    let trains = meeting("7 ft", "20 ft").replace(
        "direction = \"west\"\nfrom = \"Cedar\"\nto = \"Alder\"",
        "direction = \"south\"\nline = \"Branch\"\nfrom = \"Fir\"\nto = \"Cedar\"",
    );
    let found = codes(&format!("{junction}{trains}"));
    assert!(
        !found.iter().any(|code| code.starts_with("meet")),
        "{found:?}"
    );
}

#[test]
fn a_spreadsheets_cars_are_read_as_their_owner_means_them() {
    let loaded = read(
        "--- cars.csv\nMarks;Number;AAR;Kind;Length;Built;Capacity\nsmr;1,234;XM;Boxcar;6 in;10594;100,000 lb\n\
         b & tc;77.0;gb;gondola;6.5 in;1928;\n",
    );
    let cars = &loaded.railroad.roster.cars;
    assert_eq!(cars[0].name.value, "SMR 1234");
    // Serial day 10594 counts from 1900 as spreadsheets do.
    assert_eq!(
        cars[0].built.unwrap().value.first().to_string(),
        "1929-01-01"
    );
    assert_eq!(cars[0].capacity.unwrap().value.pounds().round(), 100_000.0);
    assert_eq!(cars[1].name.value, "B&TC 77");
    assert_eq!(cars[1].designation.as_ref().unwrap().value.text, "GB");
    assert!(loaded.railroad.roster.find_car("B&TC 77").is_some());
}

#[test]
fn a_car_is_the_same_however_its_name_is_spelt() {
    let cars = "--- cars.csv\nmarks,number,kind,length\nSMR,101,boxcar,6 in\nSMR,90,caboose,5 in\n";
    finds(&format!("{cars}smr,101.0,boxcar,6 in\n"), "duplicate-name");
    let waybill = |car: &str| {
        format!(
            "{cars}--- waybills.csv\ndate,car,from,to,commodity\n1941-10-13,{car},Alder,Birch,flour\n"
        )
    };
    clean(&waybill("smr101"));
    clean(&waybill("SMR  101"));
    finds(&waybill("SMR 102"), "unknown-name");
}

#[test]
fn the_day_decides_what_may_be_interchanged() {
    let roads = "\n[roads.BTC]\nname = \"Basin & Tule Creek\"\n";
    let trucks = |day: &str, marks: &str| {
        on(day, roads)
            + &format!(
                "--- cars.csv\nmarks,number,kind,length,truck\n{marks},1,boxcar,6 in,Arch-bar\nSMR,90,caboose,5 in,\n"
            )
    };
    clean(&trucks("1940-06-30", "BTC"));
    finds(&trucks("1940-07-01", "BTC"), "arch-bar-trucks");
    // At home a road's own cars may keep them.
    clean(&trucks("1940-07-01", "SMR"));
    let brakes = |day: &str, kind: &str| {
        on(day, roads)
            + &format!(
                "--- cars.csv\nmarks,number,kind,length,brake\nBTC,1,{kind},6 in,KC\nSMR,1,boxcar,6 in,\nSMR,90,caboose,5 in,\n"
            )
    };
    clean(&brakes("1953-06-30", "boxcar"));
    finds(&brakes("1953-07-01", "boxcar"), "k-brakes");
    clean(&brakes("1953-09-30", "tank"));
    finds(&brakes("1953-10-01", "tank"), "k-brakes");
}

#[test]
fn a_year_alone_may_hold_the_day() {
    let car = |built: &str| {
        format!(
            "--- cars.csv\nmarks,number,kind,length,built\nSMR,101,boxcar,6 in,{built}\nSMR,90,caboose,5 in,\n"
        )
    };
    clean(&car("1941"));
    clean(&car("1941-10"));
    finds(&car("1941-11"), "car-not-yet-built");
    // Stretching the span for equipment lets it in.
    clean(&(on("1941-10-14", "equipment_to = 1942\n") + &car("1941-11")));
}

#[test]
fn tractive_effort_agrees_with_published_figures() {
    // Published for the standard light and heavy 2-8-2 of the United States Railroad Administration:
    // 54,724 lb, and 60,000 lb rounded.
    let loaded = read(
        "--- engines.csv\nnumber,kind,wheels,length,drivers,cylinders,pressure,tractive_effort\n\
         12,steam,2-8-2,11 in,63 in,26 x 30,200,\"54,724 lb\"\n\
         14,steam,2-8-2,11 in,63 in,27 x 32,190,\"60,000 lb\"\n",
    );
    let engines = &loaded.railroad.roster.engines;
    let light = engines[0].computed_tractive_effort_lb().unwrap();
    let heavy = engines[1].computed_tractive_effort_lb().unwrap();
    assert!((light - 54_724.0).abs() < 1.0, "{light}");
    assert!((heavy - 60_000.0).abs() < 250.0, "{heavy}");
    assert_eq!(loaded.report(model::diagnostic::Look::Plain), "");
}

#[test]
fn spots_take_a_car_a_day_at_most() {
    let rate = |rate: &str, dwell: &str| {
        format!(
            "--- shippers.csv\nshipper,station,track,spots,does,commodity,car_kind,cars_per_week,dwell\n\
             Alder Milling,Alder,mill,door 1; door 2,ships,flour,boxcar,{rate},{dwell}\n"
        )
    };
    clean(&rate("14", ""));
    finds(&rate("14.5", ""), "rate-over-spots");
    clean(&rate("7", "2 days"));
    finds(&rate("8", "2 days"), "rate-over-spots");
}

#[test]
fn a_place_is_a_station_a_shipper_or_beyond_staging() {
    let place = |place: &str| {
        format!(
            "--- stations/birch.toml\nname = \"Birch\"\nline = \"Main\"\nmile = 4.5\nelevation = \"42 in\"\n\
             kind = \"staging\"\n\n[tracks]\nmain = {{ from = \"W\", to = \"E\", length = \"12 ft\", use = \"main\" }}\n\
             --- shippers.csv\nshipper,station,track,spots,does,commodity,car_kind,cars_per_week,place\n\
             Alder Milling,Alder,mill,door 1; door 2,ships,flour,boxcar,3,{place}\n"
        )
    };
    clean(&place("Birch"));
    clean(&place("Alder Milling"));
    clean(&place("Harlan via Birch"));
    finds(&place("Harlan"), "place-unknown");
    finds(&place("Harlan via Alder"), "place-unknown");
    finds(&place("Harlan via Brich"), "place-unknown");
}

#[test]
fn an_engine_may_pull_two_trains_on_different_days() {
    let trains = |days: &str| {
        format!(
            "--- trains.toml\n[trains.1]\nclass = 2\ndirection = \"east\"\nfrom = \"Alder\"\nto = \"Birch\"\n\
             leave = \"8:00 AM\"\narrive = \"8:40 AM\"\nengines = [\"12\"]\ndays = \"Mon Wed Fri\"\n\n\
             [trains.3]\nclass = 2\ndirection = \"east\"\nfrom = \"Alder\"\nto = \"Birch\"\n\
             leave = \"8:10 AM\"\narrive = \"8:50 AM\"\nengines = [\"12\"]\ndays = \"{days}\"\n"
        )
    };
    clean(&trains("Tue Thu Sat"));
    finds(&trains("Thu Fri"), "engine-on-two-trains");
}

#[test]
fn a_train_past_midnight_says_so() {
    let train = |arrive: &str| {
        format!(
            "--- trains.toml\n[trains.1]\nclass = 2\ndirection = \"east\"\nfrom = \"Alder\"\nto = \"Birch\"\n\
             leave = \"11:50 PM\"\narrive = \"{arrive}\"\nengines = [\"12\"]\n"
        )
    };
    clean(&train("12:30 AM +1"));
    clean(&train("24:30"));
    finds(&train("12:30 AM"), "train-times-backwards");
    // A train may leave in the minute in which it arrives.
    let stop = |leave: &str| {
        siding("7 ft")
            + &format!(
                "--- trains.toml\n[trains.1]\nclass = 2\ndirection = \"east\"\nfrom = \"Alder\"\nto = \"Cedar\"\n\
                 leave = \"8:00 AM\"\narrive = \"9:00 AM\"\nengines = [\"12\"]\n\
                 stops = [{{ station = \"Birch\", arrive = \"8:30 AM\", leave = \"{leave}\" }}]\n"
            )
    };
    assert!(!codes(&stop("8:30 AM")).contains(&"train-times-backwards"));
    finds(&stop("8:29 AM"), "train-times-backwards");
}

#[test]
fn a_turned_train_takes_no_second_staging_track() {
    let staging = "--- lines/main.toml\nname = \"Main\"\n\n[[open]]\nfrom = \"Alder\"\nto = \"Birch\"\n\
        length = \"20 ft\"\nelevation = [\"40 in\", \"42 in\"]\n--- stations/birch.toml\nname = \"Birch\"\n\
        line = \"Main\"\nmile = 4.5\nkind = \"staging\"\nends = [\"W\"]\nelevation = \"42 in\"\n\n[tracks]\n\
        main = { from = \"W\", to = \"bumper\", length = \"12 ft\", use = \"staging\" }\n";
    let trains = |engine: &str| {
        format!(
            "--- trains.toml\n[trains.1]\nclass = 2\ndirection = \"east\"\nfrom = \"Alder\"\nto = \"Birch\"\n\
             leave = \"8:00 AM\"\narrive = \"8:40 AM\"\nengines = [\"12\"]\n\n[trains.2]\nclass = 2\n\
             direction = \"west\"\nfrom = \"Birch\"\nto = \"Alder\"\nleave = \"10:00 AM\"\narrive = \"10:40 AM\"\n\
             engines = [\"{engine}\"]\n"
        )
    };
    let overflow =
        |engine: &str| codes(&format!("{staging}{}", trains(engine))).contains(&"staging-overflow");
    assert!(!overflow("12"));
    assert!(overflow("14"));
    // One arrival makes one train: a second that leaves behind the same engine stood there before.
    let twice = "\n[trains.4]\nclass = 2\ndirection = \"west\"\nfrom = \"Birch\"\nto = \"Alder\"\n\
        leave = \"11:00 AM\"\narrive = \"11:40 AM\"\nengines = [\"12\"]\n";
    finds(
        &format!("{staging}{}{twice}", trains("12")),
        "staging-overflow",
    );
}

#[test]
fn cars_fill_a_track_to_its_last_inch() {
    let road = |third: &str| {
        format!(
            "--- stations/alder.toml\nname = \"Alder\"\nline = \"Main\"\nmile = 0\nelevation = \"40 in\"\n\n\
             [tracks]\nmain = {{ from = \"W\", to = \"E\", length = \"14 ft\", use = \"main\" }}\n\
             mill = {{ from = \"s3\", to = \"bumper\", length = \"4 ft\", usable = \"18 in\", use = \"spur\", spots = [\"door 1\", \"door 2\"] }}\n\n\
             [switches]\ns3 = {{ on = \"main\", at = \"5 ft\", points = \"W\", hand = \"left\", number = 5 }}\n\
             --- cars.csv\nmarks,number,kind,length,at\nSMR,101,boxcar,6 in,Alder / mill\n\
             SMR,102,boxcar,6 in,Alder / mill\nSMR,103,boxcar,{third},Alder / mill\nSMR,90,caboose,5 in,\n"
        )
    };
    clean(&road("6 in"));
    // Three times 152.4 mm are 18 in, whatever the last binary digit says.
    clean(&road("152.4 mm"));
    let loaded = read(&road("6.2 in"));
    let found: Vec<&str> = loaded
        .diagnostics
        .iter()
        .map(|found| found.rule.code)
        .collect();
    assert_eq!(found, ["track-overfull"]);
    // It points at the car that has no room.
    assert_eq!(
        loaded.diagnostics[0].primary.span,
        loaded.railroad.roster.cars[2].at.as_ref().unwrap().span
    );
}

#[test]
fn curves_are_judged_for_the_cars_that_run_there() {
    let road = |radius: &str| {
        format!(
            "--- lines/main.toml\nname = \"Main\"\n\n[[open]]\nfrom = \"Alder\"\nto = \"Birch\"\nlength = \"20 ft\"\n\
             elevation = [\"40 in\", \"42 in\"]\ncurves = [{{ from = \"4 ft\", to = \"9 ft\", radius = \"{radius}\" }}]\n\
             --- cars.csv\nmarks,number,kind,length\nSMR,101,boxcar,6 in\nSMR,200,coach,11 in\nSMR,90,caboose,5 in\n"
        )
    };
    // No passenger train runs, so that the coach does not count.
    clean(&road("18 in"));
    finds(&road("17.9 in"), "curve-sharp-for-cars");
    let passenger = "--- trains.toml\n[trains.1]\nclass = 1\nkind = \"passenger\"\ndirection = \"east\"\n\
        from = \"Alder\"\nto = \"Birch\"\nleave = \"8:00 AM\"\narrive = \"8:40 AM\"\nengines = [\"12\"]\n";
    finds(&(road("18 in") + passenger), "curve-sharp-for-cars");
}

#[test]
fn half_written_trains_are_still_read() {
    let loaded = read(
        "--- trains.toml\n[trains.1]\nclass = 2\nleave = \"soon\"\nmeets = [{ at = \"Birch\" }, { train = \"9\" }]\n\
         stops = [{ arrive = \"8:00 AM\" }]\nhelper = {}\n--- jobs.toml\n[jobs.Desk]\nroles = [\"dispatcher\", \"cook\"]\n\
         --- shippers.csv\nshipper,station\nAlder Milling\n--- cars.csv\nmarks\nSMR\n--- people.csv\nname\n\n",
    );
    let train = loaded
        .railroad
        .service
        .train(loaded.railroad.service.find_train("1").unwrap());
    assert_eq!(train.class.unwrap().value, 2);
    assert_eq!(train.leave, None);
    assert_eq!(train.meets.len(), 2);
    assert_eq!(loaded.railroad.traffic.flows.len(), 1);
    assert_eq!(loaded.railroad.roster.cars[0].length, None);
    assert!(loaded.railroad.service.jobs[0].stands());
}

#[test]
fn lengths_are_shown_as_the_owner_likes() {
    let metric = on(
        "1941-10-14",
        "units = \"metric\"\n\n[limits]\ntrain_length = \"1 m\"\n",
    );
    let loaded = read(&metric);
    let found = loaded
        .diagnostics
        .iter()
        .find(|found| found.rule.code == "train-over-the-limit");
    let message = &found.expect("the trains are too long").message;
    assert!(message.contains("limit of 1.00 m"), "{message}");
    assert_eq!(
        loaded.railroad.identity.limits.train_length,
        Some(Actual::from_meters(1.0))
    );
}

#[test]
fn a_helper_helps_one_train_at_a_time() {
    let road = |second: &str| {
        siding("7 ft")
            + &format!(
                "--- trains.toml\n[trains.1]\nclass = 2\ndirection = \"east\"\nfrom = \"Alder\"\nto = \"Cedar\"\n\
                 leave = \"8:00 AM\"\narrive = \"9:00 AM\"\nengines = [\"12\"]\n\
                 helper = {{ engine = \"14\", from = \"Alder\", to = \"Birch\" }}\n\
                 stops = [{{ station = \"Birch\", arrive = \"8:30 AM\", leave = \"8:35 AM\" }}]\n\n\
                 [trains.2]\nclass = 2\ndirection = \"west\"\nfrom = \"Birch\"\nto = \"Alder\"\n\
                 leave = \"{second}\"\narrive = \"9:30 AM\"\nengines = [\"14\"]\n"
            )
    };
    let clash = |second: &str| codes(&road(second)).contains(&"engine-on-two-trains");
    assert!(!clash("8:30 AM"));
    assert!(clash("8:29 AM"));
}

#[test]
fn a_westward_train_comes_to_its_stations_from_the_east() {
    let train = |from: &str, to: &str| {
        siding("7 ft")
            + &format!(
                "--- trains.toml\n[trains.2]\nclass = 2\ndirection = \"west\"\nfrom = \"Cedar\"\nto = \"Alder\"\n\
                 leave = \"8:00 AM\"\narrive = \"9:00 AM\"\nengines = [\"12\"]\n\
                 helper = {{ engine = \"14\", from = \"{from}\", to = \"{to}\" }}\n"
            )
    };
    let off = |from: &str, to: &str| codes(&train(from, to)).contains(&"helper-off-its-way");
    assert!(!off("Birch", "Alder"));
    assert!(!off("Cedar", "Birch"));
    assert!(off("Alder", "Birch"));
    assert!(off("Birch", "Birch"));
}

#[test]
fn a_train_that_begins_at_a_station_may_stand_anywhere_there() {
    let bare = three_stations(
        "\n[tracks]\nmain = { from = \"W\", to = \"E\", length = \"12 ft\", use = \"main\" }\n",
    );
    let through = meeting("4 ft", "4 ft");
    finds(&format!("{bare}{through}"), "meet-without-second-track");
    let begins = through.replace(
        "from = \"Cedar\"\nto = \"Alder\"",
        "from = \"Birch\"\nto = \"Alder\"",
    );
    let found = codes(&format!("{bare}{begins}"));
    assert!(
        !found.iter().any(|code| code.starts_with("meet")),
        "{found:?}"
    );
}

#[test]
fn times_by_the_minute_have_a_minutes_grace() {
    // 20 ft in HO at a 4:1 clock are 1.32 miles of the schedule: 3 min 58 s at 20 mph.
    let train = |arrive: &str| {
        format!(
            "--- lines/main.toml\nname = \"Main\"\nspeed = \"20 mph\"\n\n[[open]]\nfrom = \"Alder\"\nto = \"Birch\"\n\
             length = \"20 ft\"\nelevation = [\"40 in\", \"42 in\"]\n--- trains.toml\n[trains.1]\nclass = 2\n\
             direction = \"east\"\nfrom = \"Alder\"\nto = \"Birch\"\nleave = \"8:00 AM\"\narrive = \"{arrive}\"\n\
             engines = [\"12\"]\n"
        )
    };
    clean(&train("8:03 AM"));
    finds(&train("8:02 AM"), "schedule-too-fast");
    clean(&train("8:03:58 AM"));
    finds(&train("8:03:55 AM"), "schedule-too-fast");
}

#[test]
fn a_car_retired_in_the_first_year_wanted_is_not_too_old() {
    let retired = |retired: &str| {
        on("1941-10-14", "").replace("equipment_from = 1895", "equipment_from = \"1915-06\"")
            + &format!(
                "--- cars.csv\nmarks,number,kind,length,retired\nSMR,101,boxcar,6 in,{retired}\nSMR,90,caboose,5 in,\n"
            )
    };
    clean(&retired("1915"));
    clean(&retired("1915-06-01"));
    finds(&retired("1915-05"), "car-already-retired");
}

#[test]
fn a_spot_holds_a_car_of_its_own_length() {
    let road = |spot: &str| {
        format!(
            "--- stations/alder.toml\nname = \"Alder\"\nline = \"Main\"\nmile = 0\nelevation = \"40 in\"\n\n\
             [tracks]\nmain = {{ from = \"W\", to = \"E\", length = \"14 ft\", use = \"main\" }}\n\
             mill = {{ from = \"s3\", to = \"bumper\", length = \"4 ft\", use = \"spur\", spots = [\"door 1\", \"door 2\"], spot_length = \"{spot}\" }}\n\n\
             [switches]\ns3 = {{ on = \"main\", at = \"5 ft\", points = \"W\", hand = \"left\", number = 5 }}\n"
        )
    };
    clean(&road("6 in"));
    finds(&road("5.9 in"), "spot-too-short");
}

#[test]
fn a_crew_that_goes_off_duty_makes_room_for_the_next() {
    let jobs = |second: &str| {
        format!(
            "--- trains.toml\n[trains.1]\nclass = 2\ndirection = \"east\"\nfrom = \"Alder\"\nto = \"Birch\"\n\
             leave = \"8:00 AM\"\narrive = \"8:40 AM\"\nengines = [\"12\"]\n\n[trains.2]\nclass = 2\n\
             direction = \"west\"\nfrom = \"Birch\"\nto = \"Alder\"\nleave = \"10:00 AM\"\narrive = \"10:40 AM\"\n\
             engines = [\"14\"]\n--- jobs.toml\n[jobs.First]\ntrains = [\"1\"]\n\n[jobs.Second]\n\
             trains = [\"2\"]\non_duty = \"{second}\"\n--- people.csv\nname\nAda Holm\n"
        )
    };
    clean(&jobs("8:40 AM"));
    finds(&jobs("8:39 AM"), "too-few-people");
}
