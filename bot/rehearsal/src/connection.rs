//! Connections that a fault can cut: once cut, not one more byte is read or written.

use std::io;
use std::net::SocketAddr;
use std::pin::Pin;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::task::{Context, Poll};

use axum::extract::connect_info::Connected;
use axum::serve::{IncomingStream, Listener};
use tokio::io::{AsyncRead, AsyncWrite, ReadBuf};
use tokio::net::{TcpListener, TcpStream};

/// The knife for one connection.
#[derive(Clone, Debug, Default)]
pub(crate) struct Knife(Arc<AtomicBool>);

impl Knife {
    /// Cuts: what the handler returns after this never reaches the client, which sees the connection close.
    pub fn cut(&self) {
        self.0.store(true, Ordering::SeqCst);
    }

    fn check(&self) -> io::Result<()> {
        match self.0.load(Ordering::SeqCst) {
            true => Err(io::ErrorKind::ConnectionReset.into()),
            false => Ok(()),
        }
    }
}

pub(crate) struct CuttableListener(pub TcpListener);

pub(crate) struct CuttableStream {
    stream: TcpStream,
    knife: Knife,
}

impl Listener for CuttableListener {
    type Io = CuttableStream;
    type Addr = SocketAddr;

    async fn accept(&mut self) -> (CuttableStream, SocketAddr) {
        let (stream, address) = Listener::accept(&mut self.0).await;
        // A small answer must not wait for the client's acknowledgement of the one before.
        let _ = stream.set_nodelay(true);
        (CuttableStream { stream, knife: Knife::default() }, address)
    }

    fn local_addr(&self) -> io::Result<SocketAddr> {
        Listener::local_addr(&self.0)
    }
}

impl Connected<IncomingStream<'_, CuttableListener>> for Knife {
    fn connect_info(stream: IncomingStream<'_, CuttableListener>) -> Knife {
        stream.io().knife.clone()
    }
}

impl AsyncRead for CuttableStream {
    fn poll_read(mut self: Pin<&mut Self>, cx: &mut Context<'_>, buf: &mut ReadBuf<'_>) -> Poll<io::Result<()>> {
        self.knife.check()?;
        Pin::new(&mut self.stream).poll_read(cx, buf)
    }
}

impl AsyncWrite for CuttableStream {
    fn poll_write(mut self: Pin<&mut Self>, cx: &mut Context<'_>, bytes: &[u8]) -> Poll<io::Result<usize>> {
        self.knife.check()?;
        Pin::new(&mut self.stream).poll_write(cx, bytes)
    }

    fn poll_flush(mut self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.stream).poll_flush(cx)
    }

    fn poll_shutdown(mut self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.stream).poll_shutdown(cx)
    }
}
