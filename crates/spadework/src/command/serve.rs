use anyhow::Context;
use clap::Args;
use farmbook::Book;
use std::net::{Ipv4Addr, SocketAddr};
use std::path::PathBuf;

/// Not a port of any known service.
pub(super) const PORT: u16 = 8737;

#[derive(Args)]
#[command(
    after_help = "Example:\n  spadework serve farm.book\n  spadework serve farm.book --port 9000"
)]
pub(crate) struct Serve {
    /// The book
    book: PathBuf,
    /// The port on this computer; 0 takes a free one
    #[arg(long, default_value_t = PORT)]
    port: u16,
    /// Let phones on this network in too, with the password that `phones` sets
    #[arg(long)]
    network: bool,
    /// The port for phones; 0 takes a free one
    #[arg(long, default_value_t = web::NETWORK_PORT)]
    network_port: u16,
}

pub(super) fn run(args: Serve, json: bool) -> anyhow::Result<()> {
    let app = web::App::new(Book::open(&args.book)?).network_port(args.network_port);
    open(app, args.port, args.network, json)
}

/// Serves a book on loopback, and to phones where that is asked for, until it is stopped.
pub(super) fn open(app: web::App, port: u16, network: bool, json: bool) -> anyhow::Result<()> {
    let address = SocketAddr::from((Ipv4Addr::LOCALHOST, port));
    tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .enable_all()
        .build()?
        .block_on(async {
            let open = match network {
                true => Some(web::let_phones_in(&app).await.map_err(anyhow::Error::msg)?),
                false => None,
            };
            let phones = open.as_ref().map_or_else(Vec::new, web::OpenAt::links);
            let ready = |at| {
                if json {
                    println!(
                        "{}",
                        serde_json::json!({
                            "address": format!("http://{at}/"),
                            "phones": phones,
                            "network_port": open.map(|o| o.port),
                        })
                    );
                    return;
                }
                if !phones.is_empty() {
                    println!("On a phone of this network open {}.", phones.join(" or "));
                } else if open.is_some() {
                    println!("This computer is on no network that a phone could be on too; join the farm’s Wi-Fi and start anew.");
                }
                println!("Open http://{at}/ in your browser. Stop with Ctrl-C.");
            };
            web::serve(app, address, ready).await.with_context(|| {
                format!("Port {port} on this computer cannot be used; try --port 0")
            })
        })
}
