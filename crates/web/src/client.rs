//! A device without a screen: comes in by a code, reports, listens to the stream. For rehearsals, tests of
//! the running office and benches; it knows no more of the office than a browser does.

use std::{
    io::{self, BufRead, BufReader, Write},
    net::{SocketAddr, TcpStream},
    time::Duration,
};

use serde_json::Value;
use session::Request;

/// The longest anyone waits for an answer.
const PATIENCE: Duration = Duration::from_secs(30);

/// A device.
#[derive(Debug)]
pub struct Client {
    at: SocketAddr,
    cookie: Option<String>,
    line: Option<BufReader<TcpStream>>,
}

/// What the office answers to a report.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Said {
    /// It is on disk.
    Done {
        /// The revision after it.
        revision: u64,
        /// Whether it had been before.
        repeated: bool,
    },
    /// It was not done.
    Not {
        /// The status of the answer.
        status: u16,
        /// Why, in sentences.
        words: String,
    },
}

struct Answer {
    status: u16,
    cookie: Option<String>,
    body: Vec<u8>,
}

fn odd(what: impl Into<String>) -> io::Error {
    io::Error::new(io::ErrorKind::InvalidData, what.into())
}

impl Client {
    /// A device that has not come in yet.
    pub const fn new(at: SocketAddr) -> Self {
        Self {
            at,
            cookie: None,
            line: None,
        }
    }

    /// Comes in by a code.
    ///
    /// # Errors
    /// If the office cannot be reached or does not let it in.
    pub fn join(&mut self, code: &str, name: &str) -> io::Result<()> {
        let form = [("code", code), ("name", name)];
        let form = serde_urlencoded::to_string(form).map_err(io::Error::other)?;
        let answer = self.post("/join", &form)?;
        let cookie = answer
            .cookie
            .and_then(|cookie| Some(cookie.split(';').next()?.to_owned()));
        match cookie {
            Some(cookie) => {
                self.cookie = Some(cookie);
                Ok(())
            }
            None => Err(odd(format!(
                "{name} was not let in: status {}",
                answer.status
            ))),
        }
    }

    /// Reports.
    ///
    /// # Errors
    /// If the office cannot be reached: then nobody knows whether it was done, and it may be said again
    /// under the same key.
    pub fn say(&mut self, request: &Request) -> io::Result<Said> {
        let Value::Object(fields) = serde_json::to_value(request).map_err(io::Error::other)? else {
            return Err(odd("a report is an object"));
        };
        let form: Vec<(String, String)> = fields
            .into_iter()
            .filter(|(_, value)| !value.is_null())
            .map(|(name, value)| (format!("{name}:j"), value.to_string()))
            .collect();
        let form = serde_urlencoded::to_string(form).map_err(io::Error::other)?;
        let answer = self.post("/session/say", &form)?;
        let body: Value = serde_json::from_slice(&answer.body).unwrap_or_default();
        Ok(if body["done"] == true {
            Said::Done {
                revision: body["revision"].as_u64().unwrap_or(0),
                repeated: body["repeated"] == true,
            }
        } else {
            let words = body["words"].as_str().map_or_else(
                || String::from_utf8_lossy(&answer.body).into_owned(),
                str::to_owned,
            );
            Said::Not {
                status: answer.status,
                words,
            }
        })
    }

    fn post(&mut self, path: &str, form: &str) -> io::Result<Answer> {
        let head = self.head("POST", path);
        let request = format!(
            "{head}Accept: application/json\r\nContent-Type: application/x-www-form-urlencoded\r\n\
            Content-Length: {}\r\n\r\n{form}",
            form.len()
        );
        // A kept connection may have been closed meanwhile; then nothing was sent, and a new one is made.
        if let Some(mut line) = self.line.take()
            && line.get_mut().write_all(request.as_bytes()).is_ok()
            && !line.fill_buf()?.is_empty()
        {
            let answer = read(&mut line)?;
            self.line = Some(line);
            return Ok(answer);
        }
        let stream = self.connect()?;
        let mut line = BufReader::new(stream);
        line.get_mut().write_all(request.as_bytes())?;
        let answer = read(&mut line)?;
        self.line = Some(line);
        Ok(answer)
    }

    fn head(&self, method: &str, path: &str) -> String {
        let at = self.at;
        let cookie = self
            .cookie
            .as_ref()
            .map_or_else(String::new, |cookie| format!("Cookie: {cookie}\r\n"));
        format!("{method} {path} HTTP/1.1\r\nHost: {at}\r\nOrigin: http://{at}\r\n{cookie}")
    }

    fn connect(&self) -> io::Result<TcpStream> {
        let stream = TcpStream::connect_timeout(&self.at, PATIENCE)?;
        stream.set_nodelay(true)?;
        stream.set_read_timeout(Some(PATIENCE))?;
        stream.set_write_timeout(Some(PATIENCE))?;
        Ok(stream)
    }

    /// Listens to the news: the revision of each.
    ///
    /// # Errors
    /// If the office cannot be reached or does not let it listen.
    pub fn listen(&self) -> io::Result<News> {
        let mut stream = self.connect()?;
        let head = self.head("GET", "/session/stream");
        stream.write_all(format!("{head}Accept: text/event-stream\r\n\r\n").as_bytes())?;
        let mut line = BufReader::new(stream);
        let (status, _, _, _) = header(&mut line)?;
        if status != 200 {
            return Err(odd(format!("the stream answers {status}")));
        }
        Ok(News { line })
    }
}

/// The stream of news.
#[derive(Debug)]
pub struct News {
    line: BufReader<TcpStream>,
}

impl Iterator for News {
    type Item = u64;

    /// The revision of the next news; nothing when the stream has ended.
    fn next(&mut self) -> Option<u64> {
        let mut text = String::new();
        loop {
            text.clear();
            if self.line.read_line(&mut text).ok()? == 0 {
                return None;
            }
            if let Some(id) = text.trim_end().strip_prefix("id:")
                && let Ok(revision) = id.trim().parse()
            {
                return Some(revision);
            }
        }
    }
}

/// The head of an answer: status, cookie, length, whether it comes in chunks.
fn header(line: &mut impl BufRead) -> io::Result<(u16, Option<String>, usize, bool)> {
    let mut text = String::new();
    line.read_line(&mut text)?;
    let status = text
        .strip_prefix("HTTP/")
        .and_then(|rest| rest.split_whitespace().nth(1))
        .and_then(|status| status.parse().ok())
        .ok_or_else(|| odd(format!("`{}` is no answer", text.trim_end())))?;
    let (mut cookie, mut length, mut chunked) = (None, 0, false);
    loop {
        text.clear();
        line.read_line(&mut text)?;
        let Some((name, value)) = text.split_once(':') else {
            return Ok((status, cookie, length, chunked));
        };
        let value = value.trim();
        match name.to_ascii_lowercase().as_str() {
            "set-cookie" => cookie = Some(value.to_owned()),
            "content-length" => length = value.parse().map_err(|_| odd("a length"))?,
            "transfer-encoding" => chunked = value.eq_ignore_ascii_case("chunked"),
            _ => {}
        }
    }
}

fn read(line: &mut impl BufRead) -> io::Result<Answer> {
    let (status, cookie, length, chunked) = header(line)?;
    let mut body = Vec::new();
    if chunked {
        let mut text = String::new();
        loop {
            text.clear();
            line.read_line(&mut text)?;
            let size = usize::from_str_radix(text.trim(), 16).map_err(|_| odd("a chunk"))?;
            let mut part = vec![0; size];
            line.read_exact(&mut part)?;
            body.append(&mut part);
            text.clear();
            line.read_line(&mut text)?;
            if size == 0 {
                break;
            }
        }
    } else {
        body.resize(length, 0);
        line.read_exact(&mut body)?;
    }
    Ok(Answer {
        status,
        cookie,
        body,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn answers_are_read_whole_however_they_are_sent() {
        let plain = b"HTTP/1.1 409 Conflict\r\nContent-Length: 5\r\nSet-Cookie: a=b; Path=/\r\n\r\nwordsHTTP";
        let answer = read(&mut &plain[..]).unwrap();
        assert_eq!(
            (answer.status, answer.body.as_slice()),
            (409, &b"words"[..])
        );
        assert_eq!(answer.cookie.as_deref(), Some("a=b; Path=/"));
        let chunks = b"HTTP/1.1 200 OK\r\nTransfer-Encoding: chunked\r\n\r\n3\r\nwor\r\n2\r\nds\r\n0\r\n\r\n";
        assert_eq!(read(&mut &chunks[..]).unwrap().body, b"words");
        assert!(read(&mut &b"engine 12\r\n"[..]).is_err());
        // A connection that ends in the midst of an answer is no answer.
        assert!(read(&mut &plain[..60]).is_err());
    }
}
