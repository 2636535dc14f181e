//! `lentic serve`: the workshop in a browser.

use std::{
    net::{Ipv4Addr, SocketAddr},
    process::ExitCode,
};

use clap::Args;
use server::Options;

/// The folder of the demo.
const DEMO: &str = "lentic-demo";
/// The folder of a workshop.
const DATA: &str = "lentic-data";
const PORT: u16 = 7420;

#[derive(Args)]
pub(super) struct ServeArguments {
    /// Data folder, or postgres://…; lentic-data when absent, lentic-demo for the demo
    #[arg(long)]
    data: Option<String>,
    /// Folder or s3://… for scans and pictures; in the data folder when absent
    #[arg(long)]
    objects: Option<String>,
    /// Address to listen on
    #[arg(long, default_value_t = usual_address())]
    listen: SocketAddr,
    /// Make an empty data folder the demo: an invented workshop that needs no sign-in on this machine
    #[arg(long)]
    demo: bool,
    #[command(flatten)]
    log: super::log::LogArguments,
}

fn usual_address() -> SocketAddr {
    SocketAddr::from((Ipv4Addr::LOCALHOST, PORT))
}

impl Default for ServeArguments {
    /// What `lentic` alone does: the demo.
    fn default() -> Self {
        Self {
            data: None,
            objects: None,
            listen: usual_address(),
            demo: true,
            log: super::log::LogArguments::default(),
        }
    }
}

pub(super) fn run(arguments: &ServeArguments) -> ExitCode {
    super::log::begin(&arguments.log);
    let folder = if arguments.demo { DEMO } else { DATA };
    let options = Options {
        data: arguments.data.clone().unwrap_or_else(|| folder.to_owned()),
        objects: arguments.objects.clone(),
        listen: arguments.listen,
        demo: arguments.demo,
    };
    let ready = |address: SocketAddr, is_demo: bool| {
        let what = if is_demo {
            "the demo workshop"
        } else {
            "the workshop"
        };
        println!("Lentic: {what} is at http://{address}");
    };
    match server::serve(&options, ready) {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            eprintln!("{error}");
            ExitCode::from(2)
        }
    }
}
