use super::run_station::{Asked, Station as Started};
use crate::{
    args::Serve,
    commands::Session,
    failure::{Failure, Outcome},
    output::Out,
    run::drive::Until,
};

pub(super) fn run(args: &Serve, session: &mut Session, out: &mut Out) -> Result<Outcome, Failure> {
    let asked = Asked { devices: &args.devices, cook: None, plain: false, until: Until::Told };
    let mut started = Started::start(&asked, None, session, out)?;
    started.take_up_open_trials();
    started.begin_self_test();
    started.run()?;
    Ok(Outcome::Done)
}
