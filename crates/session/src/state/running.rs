//! Who may be on which track: the live validator. Whether a train may leave is judged by what it holds
//! when it leaves, under the owner's operating method; the rules themselves, and the judges of orders
//! and authorities, are [`transportation`]'s.

use engineering::ids::TrackRef;
use model::time::{RailSpan, RailTime};
use transportation::{
    Method,
    authority::{Limits, judge as limits_judge},
    order::{
        Body, Delivery, District, DistrictNo, Order, Place, PlaceNo, Run, RunNo, Territory, To,
        Visit,
        judge::{self, Fault, Finding},
    },
    rights::{Book, ScheduleTime},
};

use super::{
    State,
    sheet::{At, OrderNow, TrainNow},
};
use crate::{
    command::TrackPlace,
    opening::{CallSheet, TrainSheet},
    order::OrderText,
    refused::{Refused, Why},
};

/// A time before everything: an order that is in hand is complete, whenever the schedule says.
const LONG_AGO: RailTime = RailTime::from_seconds(-100 * 86_400);

impl State {
    /// The trains on the line between two stations: index of the train, and whether it runs toward higher
    /// miles.
    pub fn on_line(&self, district: usize) -> Vec<(usize, bool)> {
        let mut all = Vec::new();
        for (at, train) in self.sheet.trains.iter().enumerate() {
            if let At::Line { call } = train.at
                && train.calls[call].plan.next == Some(district)
            {
                let up = self.goes_up(&train.calls[call].plan);
                all.push((at, up));
            }
        }
        all
    }

    fn goes_up(&self, call: &CallSheet) -> bool {
        call.next
            .is_some_and(|district| self.opening.districts[district].ends[0] == call.station)
    }

    /// What keeps trains off a district: track out of service, an open bridge.
    pub fn closed_because(&self, district: usize) -> Option<String> {
        let sheet = &self.opening.districts[district];
        let [low, high] = sheet
            .ends
            .map(|end| self.opening.stations[end].name.as_str());
        let out = self.sheet.tracks_out.iter().find(|(place, _)| {
            matches!(place, TrackPlace::Line { from, to }
                if (from == low && to == high) || (from == high && to == low))
        });
        if let Some((place, why)) = out {
            return Some(format!("{place} is out of service: {why}"));
        }
        let open = sheet
            .bridges
            .iter()
            .find(|bridge| self.sheet.bridges_open.contains(*bridge))?;
        Some(format!("{open} is open"))
    }

    /// Whether a track of a station is out of service, and why.
    pub fn out_of_service(&self, station: &str, track: &str) -> Option<&str> {
        self.sheet
            .tracks_out
            .iter()
            .find(|(place, _)| {
                matches!(place, TrackPlace::Station { station: s, track: t }
                    if s == station && t == track)
            })
            .map(|(_, why)| why.as_str())
    }

    /// Whether a train may leave a station for the line now.
    pub(super) fn may_leave(
        &self,
        train: usize,
        call: usize,
        now: RailTime,
    ) -> Result<(), Refused> {
        let mine = &self.sheet.trains[train];
        let plan = &mine.calls[call].plan;
        let Some(district) = plan.next else {
            return Ok(());
        };
        self.track_is_free(train, district, self.goes_up(plan))?;
        match self.opening.method {
            Method::TimetableAndTrainOrder => self.by_orders(train, call, district, now),
            Method::VerbalAuthority | Method::TrackWarrant | Method::Signals => {
                self.by_authority(train, call)
            }
            Method::Sequence => self.by_sequence(train, call, district),
        }
    }

    /// No rule lets a train onto track that is closed or that an opposing train is on.
    fn track_is_free(&self, train: usize, district: usize, up: bool) -> Result<(), Refused> {
        let sheet = &self.opening.districts[district];
        if let Some(why) = self.closed_because(district) {
            return Err(Refused::new(
                Why::Authority,
                why,
                format!("no train may go {}", self.opening.stretch(district)),
            ));
        }
        let mut following = 0;
        for (other, goes_up) in self.on_line(district) {
            if other == train {
                continue;
            }
            let title = self.sheet.trains[other].title();
            if goes_up == up {
                following += 1;
                if following >= sheet.blocks.max(1) as usize {
                    return Err(Refused::new(
                        Why::Authority,
                        format!(
                            "{title} is still on the track {}",
                            self.opening.stretch(district)
                        ),
                        "wait until it is reported in at the next station",
                    ));
                }
            } else if sheet.tracks == 1 {
                return Err(Refused::new(
                    Why::Authority,
                    format!(
                        "{title} is on the single track {}, coming this way",
                        self.opening.stretch(district)
                    ),
                    "wait until it is reported in here",
                ));
            }
        }
        Ok(())
    }

    fn by_orders(
        &self,
        train: usize,
        call: usize,
        district: usize,
        now: RailTime,
    ) -> Result<(), Refused> {
        let mut territory = self.territory(now);
        let no = RunNo(train as u32);
        let this = DistrictNo(district as u32);
        // Only this piece of track is asked about.
        for (at, run) in territory.runs.iter_mut().enumerate() {
            for (number, visit) in run.visits.iter_mut().enumerate() {
                if visit.next != Some(this) || (at == train && number != call) {
                    visit.next = None;
                }
            }
        }
        let mine = &self.sheet.trains[train].calls;
        let running = mine.get(call + 1).map_or(RailSpan::ZERO, |next| {
            next.plan.arrive - mine[call].plan.leave
        });
        let arrives = now + running.max(RailSpan::ZERO);
        // Whoever has not left yet may be as late as can be: what counts is what each is allowed.
        for (at, run) in territory.runs.iter_mut().enumerate() {
            for number in 0..run.visits.len() {
                if run.visits[number].next.is_none() {
                    continue;
                }
                let gone = at == train
                    || self.sheet.trains.get(at).is_some_and(|other| {
                        other
                            .calls
                            .get(number)
                            .is_some_and(|call| call.left.is_some())
                    });
                if at == train {
                    run.visits[number].leave = now;
                    if let Some(next) = run.visits.get_mut(number + 1) {
                        next.arrive = arrives;
                    }
                } else if !gone {
                    let leave = run.visits[number].leave.max(arrives);
                    run.visits[number].leave = leave;
                    if let Some(next) = run.visits.get_mut(number + 1) {
                        next.arrive = next.arrive.max(leave);
                    }
                }
            }
        }
        let orders = self.in_hand(&territory);
        let found = judge::judge(&territory, &orders, &self.book(), self.opening.style());
        let against = found.into_iter().find(|finding| match finding.fault {
            Fault::NoAuthority | Fault::BeforeTime | Fault::DeadSchedule => {
                finding.trains.first() == Some(&no)
            }
            Fault::TooClose => finding.trains.get(1) == Some(&no),
            Fault::BothAuthorized => finding.trains.contains(&no),
            _ => false,
        });
        match against {
            None => Ok(()),
            Some(finding) => {
                let expected = match finding.fault {
                    Fault::BeforeTime => "wait for the time of the timetable",
                    Fault::TooClose => "keep the distance of the rules",
                    _ => "wait for the other train, or for an order",
                };
                Err(Refused::new(Why::Authority, finding.sentence, expected))
            }
        }
    }

    fn by_authority(&self, train: usize, call: usize) -> Result<(), Refused> {
        let mine = &self.sheet.trains[train];
        let mut waits = None;
        for order in &self.sheet.orders {
            let OrderText::Authority {
                train: whose,
                from,
                to,
                after,
            } = &order.text
            else {
                continue;
            };
            if whose != mine.symbol() || order.over {
                continue;
            }
            let (Some(from), Some(to)) = (self.visit(mine, from, 0), self.visit(mine, to, 0))
            else {
                continue;
            };
            if !(from..to).contains(&call) {
                continue;
            }
            if !order.binds(mine.symbol()) {
                waits = Some(format!(
                    "authority {} is not complete: it has to be repeated first",
                    order.number
                ));
                continue;
            }
            let missing = after
                .iter()
                .find(|(other, at)| !self.has_arrived(other, at));
            match missing {
                None => return Ok(()),
                Some((other, at)) => {
                    waits = Some(format!(
                        "authority {} is not in effect until {} has arrived at {at}",
                        order.number,
                        self.title(other)
                    ));
                }
            }
        }
        let here = &self.opening.stations[mine.calls[call].plan.station].name;
        let there = mine
            .calls
            .get(call + 1)
            .map_or("", |next| &self.opening.stations[next.plan.station].name);
        let found = waits
            .unwrap_or_else(|| format!("{} has no authority from {here} to {there}", mine.title()));
        Err(Refused::new(
            Why::Authority,
            found,
            "ask the dispatcher for one",
        ))
    }

    /// Where there is no clock, trains use a piece of track in the order of the plan.
    fn by_sequence(&self, train: usize, call: usize, district: usize) -> Result<(), Refused> {
        let mine = &self.sheet.trains[train];
        let my_turn = (mine.calls[call].plan.leave, train);
        for (at, other) in self.sheet.trains.iter().enumerate() {
            if at == train || !other.active() {
                continue;
            }
            for (number, theirs) in other.calls.iter().enumerate() {
                let before = (theirs.plan.leave, at) < my_turn;
                let done = other
                    .calls
                    .get(number + 1)
                    .is_none_or(|c| c.arrived.is_some());
                if theirs.plan.next == Some(district) && before && !done {
                    return Err(Refused::new(
                        Why::Authority,
                        format!(
                            "{} goes first {}",
                            other.title(),
                            self.opening.stretch(district)
                        ),
                        "wait until it is through",
                    ));
                }
            }
        }
        Ok(())
    }

    /// Whether a train has been at a station, or will not come any more.
    fn has_arrived(&self, train: &str, station: &str) -> bool {
        let Some(train) = self.train(train) else {
            return true;
        };
        if !train.active() {
            return true;
        }
        self.visit(train, station, 0)
            .is_none_or(|call| train.calls[call].arrived.is_some() || call < train.call())
    }

    /// Which call of a train is at a station, from a certain one on.
    pub(super) fn visit(&self, train: &TrainNow, station: &str, from: usize) -> Option<usize> {
        let station = self.opening.find_station(station)?;
        (from..train.calls.len()).find(|&call| train.calls[call].plan.station == station)
    }

    pub(super) fn book(&self) -> Book {
        Book {
            extras_by_direction: self.opening.extras_by_direction,
            ..Book::default()
        }
    }

    /// The territory as it is now: what has happened at its time, what is to come when it is expected. The
    /// trains stand in the order of the sheet; those that do not run today follow.
    pub(super) fn territory(&self, now: RailTime) -> Territory {
        let all_day = [RailTime::MIDNIGHT, RailTime::from_seconds(86_399)];
        let places = self
            .opening
            .stations
            .iter()
            .map(|station| Place {
                name: station.name.clone(),
                // The crew's own screen is the office: what it has is what it has repeated.
                office: Some(all_day),
                hands_out: true,
            })
            .collect();
        let districts = self
            .opening
            .districts
            .iter()
            .map(|district| District {
                ends: district.ends.map(|end| PlaceNo(end as u32)),
                tracks: district.tracks,
                blocks: district.blocks,
                superior_up: district.superior_up,
            })
            .collect();
        let mut runs: Vec<Run> = self
            .sheet
            .trains
            .iter()
            .map(|train| self.run(train, now))
            .collect();
        runs.extend(self.opening.not_today.iter().map(|train| Run {
            name: train.symbol.clone(),
            class: train.class,
            visits: visits(train, &train.calls),
            runs: false,
            works: None,
        }));
        Territory {
            places,
            districts,
            runs,
        }
    }

    fn run(&self, train: &TrainNow, now: RailTime) -> Run {
        let calls: Vec<CallSheet> = train.calls.iter().map(|call| call.plan.clone()).collect();
        let mut visits = visits(&train.sheet, &calls);
        let mut last = LONG_AGO;
        let over = matches!(train.at, At::Ended | At::Combined { .. });
        for (at, (visit, call)) in visits.iter_mut().zip(&train.calls).enumerate() {
            let expected = train.expected(at, now).unwrap_or(call.plan.arrive);
            visit.arrive = call.arrived.unwrap_or(expected).max(last);
            let stand = call.plan.leave - call.plan.arrive;
            visit.leave = call.left.unwrap_or_else(|| {
                let ready = visit.arrive + stand.max(RailSpan::ZERO);
                ready.max(if call.arrived.is_some() || at == 0 {
                    now.max(call.plan.leave)
                } else {
                    call.plan.leave
                })
            });
            visit.leave = visit.leave.max(visit.arrive);
            last = visit.leave;
            let through = call.left.is_some()
                && train
                    .calls
                    .get(at + 1)
                    .is_none_or(|next| next.arrived.is_some());
            if through || over {
                visit.next = None;
            }
        }
        Run {
            name: train.sheet.symbol.clone(),
            class: train.sheet.class,
            visits,
            runs: train.at != At::Annulled,
            works: None,
        }
    }

    /// The orders as each train has them in hand: a copy counts from the call at which it was complete.
    fn in_hand(&self, territory: &Territory) -> Vec<Order> {
        self.orders(territory, |copy_completed| copy_completed)
    }

    /// All orders that are out, as if every copy had been delivered.
    fn as_delivered(&self, territory: &Territory) -> Vec<Order> {
        self.orders(territory, |_| true)
    }

    fn orders(&self, territory: &Territory, counts: impl Fn(bool) -> bool) -> Vec<Order> {
        self.sheet
            .orders
            .iter()
            .filter_map(|order| {
                let body = body(territory, &order.text)?;
                let copies = order
                    .copies
                    .iter()
                    .filter(|copy| counts(copy.completed.is_some()))
                    .filter_map(|copy| self.delivery(territory, &copy.train, copy.at_call))
                    .collect();
                Some(Order {
                    number: order.number,
                    complete: LONG_AGO,
                    body,
                    copies,
                })
            })
            .collect()
    }

    fn delivery(&self, territory: &Territory, train: &str, call: usize) -> Option<Delivery> {
        let no = territory.find_run(train)?;
        let place = territory.run(no).visits.get(call)?.place;
        Some(Delivery {
            to: To::Train(no),
            at: place,
            last: place,
            signed: true,
        })
    }

    /// Whether an order or authority may be given: what it names is there and ahead of the trains, and
    /// no two trains could be authorised onto one track by it.
    pub(super) fn may_issue(
        &self,
        number: u32,
        text: &OrderText,
        to: &[String],
        now: RailTime,
    ) -> Result<(), Refused> {
        self.names_places_ahead(text)?;
        let territory = self.territory(now);
        if matches!(text, OrderText::Authority { .. }) {
            return self.may_authorize(&territory, number, text, now);
        }
        let Some(body) = body(&territory, text) else {
            return Err(Refused::new(
                Why::Unknown,
                "the order names a train or station that is not of this session",
                "say trains by symbol and stations by name",
            ));
        };
        let mut orders = self.as_delivered(&territory);
        let (book, style) = (self.book(), self.opening.style());
        let conflicts = |orders: &[Order]| -> Vec<Finding> {
            judge::judge(&territory, orders, &book, style)
                .into_iter()
                .filter(|one| matches!(one.fault, Fault::BothAuthorized | Fault::Garbled))
                .collect()
        };
        let known = conflicts(&orders);
        let copies = to
            .iter()
            .filter_map(|train| {
                let call = self.train(train)?.call();
                self.delivery(&territory, train, call)
            })
            .collect();
        orders.push(Order {
            number,
            complete: LONG_AGO,
            body,
            copies,
        });
        let pairs = |finding: &Finding| (finding.fault, finding.trains.clone());
        let new = conflicts(&orders).into_iter().find(|one| {
            // The same trains may be spoken of in other words now; what was wrong before is not this order's doing.
            !known.iter().any(|old| {
                old.sentence == one.sentence
                    || (pairs(old) == pairs(one)
                        && one.order != Some(number)
                        && !one.sentence.contains(&format!("by order {number}")))
            })
        });
        match new {
            None => Ok(()),
            Some(finding) => Err(Refused::new(
                Why::Authority,
                finding.sentence,
                "give both trains one order that fixes who waits, or annul the older one first",
            )),
        }
    }

    fn may_authorize(
        &self,
        territory: &Territory,
        number: u32,
        text: &OrderText,
        now: RailTime,
    ) -> Result<(), Refused> {
        let new = OrderNow {
            number,
            text: text.clone(),
            issued: now,
            copies: Vec::new(),
            over: false,
        };
        let Some(new) = self.limits(&new) else {
            return Err(Refused::not_now(
                "the authority leads nowhere on this train's way",
                "name two of its stations in the order in which it runs",
            ));
        };
        for at in new.from..new.to {
            let district = territory.run(new.train).visits[at].next;
            if let Some(why) = district.and_then(|one| self.closed_because(one.index())) {
                return Err(Refused::new(
                    Why::Authority,
                    why,
                    "no authority is given over it",
                ));
            }
        }
        let mut all = self.authorities();
        all.push(new);
        let found = limits_judge::limits(territory, &all, self.opening.style());
        let against = found
            .into_iter()
            .find(|one| one.fault == Fault::BothAuthorized && one.order == Some(number));
        match against {
            None => Ok(()),
            Some(finding) => Err(Refused::new(
                Why::Authority,
                finding.sentence,
                "wait until the other reports clear, or say `after` which arrival this one takes effect",
            )),
        }
    }

    /// The authorities out, as the judge of authorities wants them. What lies behind a train is free.
    pub(super) fn authorities(&self) -> Vec<Limits> {
        self.sheet
            .orders
            .iter()
            .filter(|order| !order.over)
            .filter_map(|order| self.limits(order))
            .collect()
    }

    fn limits(&self, order: &OrderNow) -> Option<Limits> {
        let OrderText::Authority {
            train,
            from,
            to,
            after,
        } = &order.text
        else {
            return None;
        };
        let no = self.train_at(train).ok()?;
        let now = &self.sheet.trains[no];
        if !now.active() {
            return None;
        }
        let (from, to) = (self.visit(now, from, 0)?, self.visit(now, to, 0)?);
        if from >= to {
            return None;
        }
        let after = after
            .iter()
            .filter_map(|(other, at)| {
                let run = RunNo(self.train_at(other).ok()? as u32);
                Some((run, PlaceNo(self.opening.find_station(at)? as u32)))
            })
            .collect();
        Some(Limits {
            number: order.number,
            train: RunNo(no as u32),
            from,
            to,
            given: order.issued,
            after,
            clear: now
                .calls
                .iter()
                .enumerate()
                .skip(from + 1)
                .filter_map(|(at, call)| Some((at, call.arrived?)))
                .collect(),
        })
    }

    /// A train that has gone by cannot be told any more.
    pub(super) fn names_places_ahead(&self, text: &OrderText) -> Result<(), Refused> {
        let ahead = |train: &str, station: &str| -> Result<usize, Refused> {
            let at = self.train_at(train)?;
            self.station_at(station)?;
            let now = &self.sheet.trains[at];
            if !now.active() {
                return Err(Refused::not_now(
                    format!("{} does not run any more", now.title()),
                    "",
                ));
            }
            let from = match now.at {
                At::Line { call } => call + 1,
                _ => now.call(),
            };
            match self.visit(now, station, from) {
                Some(call) => Ok(call),
                None => {
                    let found = match self.visit(now, station, 0) {
                        Some(gone) => match now.calls[gone].left {
                            Some(left) => format!(
                                "{} left {station} at {}",
                                now.title(),
                                self.opening.time(left)
                            ),
                            None => format!("{} is past {station}", now.title()),
                        },
                        None => format!("{} does not come to {station}", now.title()),
                    };
                    Err(Refused::not_now(
                        found,
                        "name a station that lies ahead of it",
                    ))
                }
            }
        };
        match text {
            OrderText::Meet { train, others } => {
                for (other, station) in others {
                    ahead(train, station)?;
                    ahead(other, station)?;
                }
            }
            OrderText::Ahead { first, seconds } => {
                for (second, _, to) in seconds {
                    ahead(first, to)?;
                    ahead(second, to)?;
                }
            }
            OrderText::RightOver {
                first,
                over,
                from,
                to,
            } => {
                ahead(first, to)?;
                ahead(over, from)?;
            }
            OrderText::RunLate { train, to, .. } | OrderText::Extra { train, to, .. } => {
                ahead(train, to)?;
            }
            OrderText::Wait { train, at } => {
                for (station, _) in at {
                    ahead(train, station)?;
                }
            }
            OrderText::Hold { train, station } => {
                ahead(train, station)?;
            }
            OrderText::Authority {
                train,
                from,
                to,
                after,
            } => {
                let call = ahead(train, from)?;
                if ahead(train, to)? <= call {
                    return Err(Refused::not_now(
                        format!("{} does not run from {from} to {to}", self.title(train)),
                        "name its stations in the order in which it runs",
                    ));
                }
                for (other, station) in after {
                    self.train_at(other)?;
                    self.station_at(station)?;
                }
            }
            OrderText::AnnulOrder { number } => {
                let order = self.sheet.orders.iter().find(|one| one.number == *number);
                if order.is_none_or(|order| order.over) {
                    return Err(Refused::not_now(
                        format!("order {number} is not out"),
                        "name one that is",
                    ));
                }
            }
            OrderText::AnnulSchedule { train } => {
                let known = self
                    .opening
                    .not_today
                    .iter()
                    .any(|one| one.symbol == *train);
                if !known {
                    let at = self.train_at(train)?;
                    if self.sheet.trains[at].at != At::Annulled {
                        return Err(Refused::not_now(
                            format!("{} runs today", self.sheet.trains[at].title()),
                            "annul the train first",
                        ));
                    }
                }
            }
        }
        Ok(())
    }

    /// What must never be: trains on one track that exclude each other, authorities that overlap. Empty
    /// in every state that commands lead to; asked before a report is taken back, and by tests.
    pub fn conflicts(&self, now: RailTime) -> Vec<String> {
        let mut found = Vec::new();
        for (district, sheet) in self.opening.districts.iter().enumerate() {
            let on = self.on_line(district);
            let ups = on.iter().filter(|(_, up)| *up).count();
            let downs = on.len() - ups;
            let opposing = sheet.tracks == 1 && ups > 0 && downs > 0;
            let crowded = ups.max(downs) > sheet.blocks.max(1) as usize;
            if opposing || crowded {
                let titles: Vec<String> = on
                    .iter()
                    .map(|(train, _)| self.sheet.trains[*train].title())
                    .collect();
                found.push(format!(
                    "{} would be on the track {} together",
                    titles.join(" and "),
                    self.opening.stretch(district)
                ));
            }
        }
        let authorities = self.authorities();
        if !authorities.is_empty() {
            let territory = self.territory(now);
            found.extend(
                limits_judge::limits(&territory, &authorities, self.opening.style())
                    .into_iter()
                    .filter(|one| one.fault == Fault::BothAuthorized)
                    .map(|one| one.sentence),
            );
        }
        found
    }

    /// The track on which a train stands at a call, if it is known.
    pub(super) fn track_of(&self, train: &TrainNow, call: usize) -> Option<TrackRef> {
        let now = train.calls.get(call)?;
        let name = now.track.as_ref().or(now.plan.track.as_ref())?;
        self.track_at(now.plan.station, name).ok()
    }
}

/// The times a train's schedule shows, and its way. Where the page has no time for a station, that of the
/// running time from the last one shown.
fn visits(train: &TrainSheet, calls: &[CallSheet]) -> Vec<Visit> {
    let mut shown: Option<RailTime> = None;
    let mut all = Vec::with_capacity(calls.len());
    for (at, call) in calls.iter().enumerate() {
        let written = call.due_leave.or(call.due_arrive);
        let leave = written.or_else(|| {
            let before = calls.get(at.checked_sub(1)?)?;
            let ran = call.arrive - before.leave;
            let minute = (shown? + ran).seconds().div_euclid(60) * 60;
            let next = calls[at..]
                .iter()
                .find_map(|one| one.due_arrive.or(one.due_leave));
            let time = RailTime::from_seconds(minute).max(shown?);
            Some(next.map_or(time, |next| time.min(next)))
        });
        shown = leave.or(shown);
        let due = match (train.class, leave) {
            (Some(_), Some(leave)) => Some(ScheduleTime {
                arrive: call.due_arrive.unwrap_or(leave),
                leave,
            }),
            _ => None,
        };
        all.push(Visit {
            place: PlaceNo(call.station as u32),
            due,
            arrive: call.arrive,
            leave: call.leave,
            next: call.next.map(|district| DistrictNo(district as u32)),
            stops: call.stops,
        });
    }
    all
}

/// An order's text in the terms of a territory; nothing if a name in it is unknown or it is an authority.
fn body(territory: &Territory, text: &OrderText) -> Option<Body> {
    let run = |name: &str| territory.find_run(name);
    let place = |name: &str| territory.find_place(name);
    Some(match text {
        OrderText::Meet { train, others } => Body::Meet {
            train: run(train)?,
            others: others
                .iter()
                .map(|(other, at)| Some((run(other)?, place(at)?)))
                .collect::<Option<_>>()?,
        },
        OrderText::Ahead { first, seconds } => Body::Ahead {
            first: run(first)?,
            seconds: seconds
                .iter()
                .map(|(second, from, to)| Some((run(second)?, place(from)?, place(to)?)))
                .collect::<Option<_>>()?,
        },
        OrderText::RightOver {
            first,
            over,
            from,
            to,
        } => Body::RightOver {
            first: run(first)?,
            over: run(over)?,
            from: place(from)?,
            to: place(to)?,
        },
        OrderText::RunLate {
            train,
            minutes,
            from,
            to,
        } => Body::RunLate {
            train: run(train)?,
            late: RailSpan::from_minutes(i64::from(*minutes)),
            from: place(from)?,
            to: place(to)?,
        },
        OrderText::Wait { train, at } => Body::Wait {
            train: run(train)?,
            at: at
                .iter()
                .map(|(station, until)| Some((place(station)?, RailTime::from_seconds(*until))))
                .collect::<Option<_>>()?,
        },
        OrderText::Extra { train, from, to } => Body::Extra {
            train: run(train)?,
            from: place(from)?,
            to: place(to)?,
        },
        OrderText::Hold { train, station } => Body::Hold {
            train: run(train)?,
            at: place(station)?,
        },
        OrderText::AnnulSchedule { train } => Body::AnnulSchedule { train: run(train)? },
        OrderText::AnnulOrder { number } => Body::AnnulOrder { number: *number },
        OrderText::Authority { .. } => return None,
    })
}
