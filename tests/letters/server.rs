//! A mail server on a socket of its own, as much of RFC 5321 as one letter needs.

use std::sync::{Arc, Mutex};

use tokio::io::{AsyncBufReadExt, AsyncWriteExt, BufReader};
use tokio::net::{TcpListener, TcpStream};

/// What it answers when somebody names a recipient.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Mood {
    Takes,
    /// 451: later perhaps.
    Busy,
    /// 550: never.
    Refuses,
}

/// One letter as it arrived: to whom, and its text with the headers.
#[derive(Clone)]
pub(super) struct Arrived {
    pub(super) to: String,
    pub(super) text: String,
}

pub(super) struct Server {
    pub(super) url: String,
    mood: Arc<Mutex<Mood>>,
    arrived: Arc<Mutex<Vec<Arrived>>>,
}

impl Server {
    pub(super) async fn start() -> Self {
        let listener = TcpListener::bind("127.0.0.1:0").await.expect("a free port");
        let url = format!("smtp://{}", listener.local_addr().expect("an address"));
        let (mood, arrived) = (Arc::new(Mutex::new(Mood::Takes)), Arc::default());
        let server = Self { url, mood: Arc::clone(&mood), arrived: Arc::clone(&arrived) };
        tokio::spawn(async move {
            while let Ok((socket, _)) = listener.accept().await {
                tokio::spawn(talk(socket, Arc::clone(&mood), Arc::clone(&arrived)));
            }
        });
        server
    }

    pub(super) fn is(&self, mood: Mood) {
        *self.mood.lock().expect("no test panicked here") = mood;
    }

    /// What arrived since this was asked last.
    pub(super) fn arrived(&self) -> Vec<Arrived> {
        std::mem::take(&mut *self.arrived.lock().expect("no test panicked here"))
    }
}

async fn talk(socket: TcpStream, mood: Arc<Mutex<Mood>>, arrived: Arc<Mutex<Vec<Arrived>>>) -> std::io::Result<()> {
    let (reading, mut writing) = socket.into_split();
    let mut lines = BufReader::new(reading).lines();
    let (mut to, mut text, mut inside) = (String::new(), String::new(), false);
    writing.write_all(b"220 mail.test ready\r\n").await?;
    while let Some(line) = lines.next_line().await? {
        if inside {
            if line == "." {
                inside = false;
                let letter = Arrived { to: std::mem::take(&mut to), text: std::mem::take(&mut text) };
                arrived.lock().expect("no test panicked here").push(letter);
                writing.write_all(b"250 taken\r\n").await?;
            } else {
                text.push_str(&line);
                text.push('\n');
            }
            continue;
        }
        let mood = *mood.lock().expect("no test panicked here");
        let answer: &[u8] = match line.split([' ', ':']).next().unwrap_or_default().to_uppercase().as_str() {
            "EHLO" | "HELO" => b"250 mail.test\r\n",
            "RCPT" => match mood {
                Mood::Takes => {
                    to = line.split(['<', '>']).nth(1).unwrap_or_default().to_owned();
                    b"250 known\r\n"
                }
                Mood::Busy => b"451 come back later\r\n",
                Mood::Refuses => b"550 nobody of that name\r\n",
            },
            "DATA" => {
                inside = true;
                b"354 go on\r\n"
            }
            "QUIT" => b"221 bye\r\n",
            _ => b"250 well\r\n",
        };
        writing.write_all(answer).await?;
    }
    Ok(())
}
