//! The run itself: pieces read, worked out, and written in their order.

use crate::chunks::Chunks;
use crate::error::BulkError;
use crate::header::Header;
use crate::number::push_whole;
use crate::options::{Progress, Summary};
use crate::output::Sink;
use crate::row::{Made, Worker};
use std::collections::BTreeMap;
use std::io::Read;
use std::ops::ControlFlow;
use std::sync::Mutex;
use std::sync::mpsc::{Receiver, Sender, channel};
use std::thread;

/// Writes what was made, in order, and keeps count.
pub(crate) struct Tally<'p> {
    sink: Sink,
    /// Rows before the piece at hand, as a spreadsheet counts them
    row: u64,
    good_rows: u64,
    bad_rows: u64,
    bytes: u64,
    bytes_total: u64,
    /// Bytes of the first piece that are the header
    header_bytes: usize,
    line: Vec<u8>,
    progress: &'p mut dyn FnMut(Progress) -> ControlFlow<()>,
}

impl<'p> Tally<'p> {
    pub(crate) fn new(
        sink: Sink,
        bytes_total: u64,
        header_bytes: usize,
        progress: &'p mut dyn FnMut(Progress) -> ControlFlow<()>,
    ) -> Self {
        Self {
            sink,
            row: 0,
            good_rows: 0,
            bad_rows: 0,
            bytes: 0,
            bytes_total,
            header_bytes,
            line: Vec::new(),
            progress,
        }
    }

    fn take(&mut self, bytes: usize, made: &Made) -> Result<(), BulkError> {
        self.sink.write(made.out.written())?;
        for bad in &made.bad {
            self.line.clear();
            push_whole(&mut self.line, self.row + bad.row);
            self.line.extend_from_slice(&bad.line);
            self.sink.write_bad(&self.line)?;
        }
        self.row += made.counted;
        self.good_rows += made.good_rows;
        self.bad_rows += made.bad.len() as u64;
        self.bytes += bytes as u64;
        let now = Progress {
            rows: self.good_rows + self.bad_rows,
            bad_rows: self.bad_rows,
            bytes: self.bytes,
            bytes_total: self.bytes_total,
        };
        match (self.progress)(now) {
            ControlFlow::Continue(()) => Ok(()),
            ControlFlow::Break(()) => Err(BulkError::Stopped),
        }
    }

    /// An endless row is told by the row before it.
    fn placed(&self, why: BulkError) -> BulkError {
        match why {
            BulkError::Endless { path, mib, .. } => BulkError::Endless {
                path,
                row: self.row,
                mib,
            },
            other => other,
        }
    }

    pub(crate) fn finish(self) -> (Sink, Summary) {
        let summary = Summary {
            rows: self.good_rows + self.bad_rows,
            good_rows: self.good_rows,
            bad_rows: self.bad_rows,
            bytes: self.bytes,
            bad_file: None,
            not_used: Vec::new(),
        };
        (self.sink, summary)
    }
}

/// Works every piece out; `first` begins with the header.
pub(crate) fn run<R: Read + Send>(
    header: &Header,
    threads: usize,
    chunks: Chunks<R>,
    first: Vec<u8>,
    tally: &mut Tally<'_>,
) -> Result<(), BulkError> {
    // The header's row is counted apart, for the pieces after it know nothing of it.
    tally.row = crate::records::rows_in(&first[..tally.header_bytes]);
    if threads <= 1 {
        alone(header, chunks, first, tally)
    } else {
        together(header, threads, chunks, first, tally)
    }
}

fn alone<R: Read>(
    header: &Header,
    mut chunks: Chunks<R>,
    first: Vec<u8>,
    tally: &mut Tally<'_>,
) -> Result<(), BulkError> {
    let mut worker = Worker::new(header);
    let mut made = Made::default();
    let mut skip = tally.header_bytes;
    let mut piece = Some(first);
    while let Some(text) = piece {
        worker.piece(&text, skip, &mut made);
        skip = 0;
        tally.take(text.len(), &made)?;
        piece = chunks.next(text).map_err(|why| tally.placed(why))?;
    }
    Ok(())
}

/// One piece on its way from the reader through a worker to the writer.
struct Parcel {
    number: u64,
    skip: usize,
    text: Vec<u8>,
    made: Made,
}

fn together<R: Read + Send>(
    header: &Header,
    threads: usize,
    chunks: Chunks<R>,
    first: Vec<u8>,
    tally: &mut Tally<'_>,
) -> Result<(), BulkError> {
    // The empty parcels bound what is in memory: a reader ahead of the rest waits for one.
    let (give_back, empty) = channel::<Parcel>();
    for _ in 0..threads * 2 + 2 {
        let parcel = Parcel {
            number: 0,
            skip: 0,
            text: Vec::new(),
            made: Made::default(),
        };
        // Both ends are here, so it cannot fail.
        let _ = give_back.send(parcel);
    }
    let (send_work, work) = channel::<Parcel>();
    let (send_done, done) = channel::<(u64, Result<Parcel, BulkError>)>();
    let work = Mutex::new(work);
    let skip = tally.header_bytes;
    thread::scope(|scope| {
        let failed = send_done.clone();
        scope.spawn(move || read(chunks, first, skip, &empty, &send_work, &failed));
        for _ in 0..threads {
            let send_done = send_done.clone();
            let work = &work;
            scope.spawn(move || {
                let mut worker = Worker::new(header);
                while let Some(mut parcel) = next(work) {
                    let Parcel {
                        number,
                        skip,
                        text,
                        made,
                    } = &mut parcel;
                    worker.piece(text, *skip, made);
                    // A writer that is gone has stopped the run.
                    if send_done.send((*number, Ok(parcel))).is_err() {
                        break;
                    }
                }
            });
        }
        drop(send_done);
        // Moved in, so that an error here lets go of every thread that waits.
        write(done, give_back, tally)
    })
}

/// The next parcel to work on; none when there will be no more.
fn next(work: &Mutex<Receiver<Parcel>>) -> Option<Parcel> {
    work.lock().ok()?.recv().ok()
}

fn read<R: Read>(
    mut chunks: Chunks<R>,
    first: Vec<u8>,
    skip: usize,
    empty: &Receiver<Parcel>,
    work: &Sender<Parcel>,
    failed: &Sender<(u64, Result<Parcel, BulkError>)>,
) {
    let mut number = 0;
    let mut piece = Some(first);
    while let Ok(mut parcel) = empty.recv() {
        parcel.number = number;
        parcel.skip = if number == 0 { skip } else { 0 };
        let text = match piece.take() {
            Some(first) => Ok(Some(first)),
            None => chunks.next(std::mem::take(&mut parcel.text)),
        };
        match text {
            Ok(Some(text)) => parcel.text = text,
            Ok(None) => return,
            Err(why) => {
                // A writer that is gone has its own reason.
                let _ = failed.send((number, Err(why)));
                return;
            }
        }
        number += 1;
        if work.send(parcel).is_err() {
            return;
        }
    }
}

fn write(
    done: Receiver<(u64, Result<Parcel, BulkError>)>,
    give_back: Sender<Parcel>,
    tally: &mut Tally<'_>,
) -> Result<(), BulkError> {
    let mut early = BTreeMap::new();
    let mut next = 0;
    for (number, parcel) in done {
        early.insert(number, parcel);
        while let Some(parcel) = early.remove(&next) {
            let parcel = parcel.map_err(|why| tally.placed(why))?;
            tally.take(parcel.text.len(), &parcel.made)?;
            next += 1;
            // The reader may be through.
            let _ = give_back.send(parcel);
        }
    }
    Ok(())
}
