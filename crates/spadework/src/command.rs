//! The commands, each in its own file.

mod book;
mod boxes;
mod bulk;
mod calendar;
mod compost;
mod cores;
mod costs;
mod demo;
mod figure;
mod folder;
mod history;
mod import;
mod log;
mod now;
mod outlines;
mod own;
mod parcels;
mod phones;
mod place;
mod plan;
mod print;
mod read;
mod record;
mod results;
mod sampling;
mod serve;
mod setbacks;
mod spreader;
mod stock;
mod supply;
mod tables;
mod taught;
mod warmth;
mod ways;

use clap::{Parser, Subcommand};

/// From a lab’s soil report to what goes on each block: needs, plan, order list and job sheets.
#[derive(Parser)]
#[command(
    name = "spadework",
    version,
    after_help = "Example:\n  spadework new farm.book --name \"Pipit Lane\" --ground demo/ground.csv\n  spadework import farm.book demo/soil_report.csv\n  spadework plan farm.book --usual\n  spadework print farm.book order --out order.pdf\n\nFollow the label, local rules and a licensed adviser: they stand above anything printed here."
)]
pub(crate) struct Cli {
    /// Print JSON for programs
    #[arg(long, global = true)]
    pub(crate) json: bool,
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand)]
enum Command {
    /// Make a new book, with its ground where you have it in a file
    New(book::New),
    /// Where the blocks lie: outlines from a file, and the areas they give
    Outlines(outlines::Outlines),
    /// Where to take the cores of a block, as a list, CSV or GPX
    Cores(cores::Cores),
    /// Cut a block in two; its reports stay with the ground they are of
    Split(parcels::Split),
    /// Lay blocks together to one
    Merge(parcels::Merge),
    /// Set the map of the farm as PDF, true to a round scale
    Map(parcels::Map),
    /// Give a farm that was drawn on a plain grid its place on the earth
    Place(place::PlaceArgs),
    /// Tell and set how far what is spread is kept from water and wells
    Setbacks(setbacks::SetbackArgs),
    /// How warm the soil is by your own thermometer; days of spreading go by it
    SoilWarmth(warmth::WarmthArgs),
    /// Which blocks to sample, when, how deep, what to ask the lab for, and what it costs
    Sampling(sampling::SamplingArgs),
    /// The boxes of soil: what is written on each, filled, sent and answered
    Boxes(boxes::Boxes),
    /// Take in a lab’s file
    Import(import::Import),
    /// Write the tests of the book as a file for other programs
    Results(results::Results),
    /// What the soil tests say and what each block needs
    Read(read::Read),
    /// Make a plan for the whole farm
    Plan(plan::PlanArgs),
    /// Plans to choose from: cheaper, closer to the need, fewer visits
    Offers(ways::Offers),
    /// What holds the plan back, and what easing it would save
    Limits(ways::Limits),
    /// What the materials that the plan leaves out would have to cost to come in
    LeftOut(ways::LeftOut),
    /// Where phosphorus, potassium and pH of each block are heading
    Years(ways::Years),
    /// What needs attention, most urgent first
    Now(now::Now),
    /// What each test of a block found, what happened, and whether the soil moved
    History(history::HistoryArgs),
    /// What the tests of blocks taught of how far they answer, and whether needs go by it
    Taught(taught::TaughtArgs),
    /// Two plans of the season side by side
    Compare(ways::Compare),
    /// What plans may use of a material: sizes, prices, stock, where not
    Material(supply::MaterialArgs),
    /// How a compost was made, and whether it counts as raw manure
    Compost(compost::CompostArgs),
    /// Who sells and delivers, and at what charge
    Supplier(supply::SupplierArgs),
    /// When each material goes on each block, what is late first of all
    Calendar(calendar::CalendarArgs),
    /// Set the order list or the job sheets as PDF
    Print(print::Print),
    /// Write the whole book as a folder of open files (CSV and JSON)
    Export(folder::Export),
    /// Make a book from such a folder
    Rebuild(folder::Rebuild),
    /// What differs between two books
    Differences(folder::Differences),
    /// Open a book in the browser
    Serve(serve::Serve),
    /// The password for phones, and which of them were let in
    Phones(phones::Phones),
    /// What is to be ordered by when, and what has come of each order
    Order(stock::OrderArgs),
    /// Write down what came in, with its lot and paper
    Receive(stock::Receive),
    /// What is in the shed, lot by lot
    Stock(stock::Stock),
    /// Write down what was spread, or list it
    Log(log::Log),
    /// The record for an inspector: on the screen, as PDF, workbook and CSV
    Record(record::RecordArgs),
    /// What the season’s spreading cost, by block, crop and nutrient
    Costs(costs::CostsArgs),
    /// The bucket that job sheets count in, and what a full one weighs
    Bucket(spreader::BucketArgs),
    /// What a walk with a spreader laid down, and the setting for a rate
    Spreader(spreader::SpreaderArgs),
    /// Write down what was harvested, or list it
    Harvest(log::HarvestArgs),
    /// Open an invented farm in the browser
    Demo(demo::Demo),
    /// Work out a single number and show the working
    Figure(figure::FigureArgs),
    /// List the reference tables
    Tables(tables::Tables),
    /// Read any number of lab rows, from CSV to CSV
    Bulk(bulk::Bulk),
}

pub(crate) fn run(cli: Cli) -> anyhow::Result<()> {
    let json = cli.json;
    match cli.command {
        Command::New(args) => book::run(args, json),
        Command::Outlines(args) => outlines::run(args, json),
        Command::Cores(args) => cores::run(args, json),
        Command::Split(args) => parcels::split(args, json),
        Command::Merge(args) => parcels::merge(args, json),
        Command::Map(args) => parcels::map(args, json),
        Command::Place(args) => place::run(args, json),
        Command::Setbacks(args) => setbacks::run(args, json),
        Command::SoilWarmth(args) => warmth::run(args, json),
        Command::Sampling(args) => sampling::run(args, json),
        Command::Boxes(args) => boxes::run(args, json),
        Command::Import(args) => import::run(args, json),
        Command::Results(args) => results::run(args, json),
        Command::Read(args) => read::run(args, json),
        Command::Plan(args) => plan::run(args, json),
        Command::Offers(args) => ways::offers(args, json),
        Command::Limits(args) => ways::limits(&args, json),
        Command::LeftOut(args) => ways::left_out(&args, json),
        Command::Years(args) => ways::years(&args, json),
        Command::Now(args) => now::run(&args, json),
        Command::History(args) => history::run(args, json),
        Command::Taught(args) => taught::run(&args, json),
        Command::Compare(args) => ways::compare(&args, json),
        Command::Material(args) => supply::material(args, json),
        Command::Compost(args) => compost::run(args, json),
        Command::Supplier(args) => supply::supplier(args, json),
        Command::Calendar(args) => calendar::run(args, json),
        Command::Print(args) => print::run(args, json),
        Command::Export(args) => folder::export(&args, json),
        Command::Rebuild(args) => folder::rebuild(&args, json),
        Command::Differences(args) => folder::differences(&args, json),
        Command::Order(args) => stock::order(args, json),
        Command::Receive(args) => stock::receive(args, json),
        Command::Stock(args) => stock::stock(args, json),
        Command::Record(args) => record::run(args, json),
        Command::Costs(args) => costs::run(args, json),
        Command::Bucket(args) => spreader::bucket(args, json),
        Command::Spreader(args) => spreader::run(args, json),
        Command::Log(args) => log::run(args, json),
        Command::Harvest(args) => log::harvest(args, json),
        Command::Serve(args) => serve::run(args, json),
        Command::Phones(args) => phones::run(&args, json),
        Command::Demo(args) => demo::run(args, json),
        Command::Figure(args) => figure::run(args, json),
        Command::Tables(args) => tables::run(args, json),
        Command::Bulk(args) => bulk::run(args, json),
    }
}
