//! The server.

use std::io::IsTerminal;
use std::sync::Arc;
use std::time::Duration;

use tallyrule::api;
use tallyrule::config::ServeArgs;
use tallyrule::desk::{Desk, DeskFault};
use tallyrule::store::Loaded;

use super::{Told, data, papers};

/// Stores, now and then, that offers have expired, for as long as the server runs. Reading does not wait for it.
fn expire_now_and_then(desk: Arc<Desk>, every: Duration) {
    std::thread::spawn(move || {
        loop {
            match desk.expire() {
                Ok(0) => {}
                Ok(count) => tracing::info!(count, "offers expired"),
                Err(fault) => tracing::warn!("expiry waits for the next pass: {fault}"),
            }
            std::thread::sleep(every);
        }
    });
}

/// Serves until it is told to stop.
pub fn serve(args: &ServeArgs) -> Result<String, Told> {
    let colours = std::io::stderr().is_terminal();
    tracing_subscriber::fmt()
        .with_writer(std::io::stderr)
        .with_ansi(colours)
        .with_target(false)
        .init();
    let location = args.data.location()?;
    let desk = data::open(&location, args.connections, true)?;
    let desk = Desk::new(desk).printing_with(papers::PRINT);
    if args.demo {
        match data::seed_folder(&args.seed).and_then(|seed| desk.load_seed(seed)) {
            Ok(Loaded::Now) => tracing::info!("loaded the demonstration from {}", args.seed.display()),
            Ok(Loaded::Before) => {}
            Err(DeskFault::NotEmpty) => {
                tracing::warn!("there is other data here: the demonstration is not loaded")
            }
            Err(fault) => return Err(data::told(&fault)),
        }
    }
    if let Err(fault) = desk.ready() {
        tracing::warn!("not ready to price a job: {fault}");
    }
    let desk = Arc::new(desk);
    expire_now_and_then(
        Arc::clone(&desk),
        Duration::from_secs(args.expiry_interval.max(1)),
    );
    actix_web::rt::System::new().block_on(async {
        let (server, address) = api::server(desk, args.listen, &args.limits())
            .map_err(|fault| Told(format!("cannot listen on {}: {fault}", args.listen)))?;
        tracing::info!("data in {location}");
        tracing::info!("listening on http://{address}, documentation at http://{address}/docs/");
        server.await?;
        Ok(String::new())
    })
}
