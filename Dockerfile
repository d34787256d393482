# The one binary: templates, styles and fonts are inside.
FROM rust:1.95-bookworm AS build
WORKDIR /build
COPY Cargo.toml Cargo.lock ./
COPY src src
COPY templates templates
COPY static static
COPY migrations migrations
# The manifest names the test binary; nothing of it is built here.
RUN mkdir tests && touch tests/main.rs && cargo build --release --locked

FROM debian:bookworm-slim
RUN apt-get update \
    && apt-get install -y --no-install-recommends ca-certificates tzdata \
    && rm -rf /var/lib/apt/lists/* \
    && useradd --system --uid 10001 farpoint \
    && install -d -o farpoint /data
COPY --from=build /build/target/release/farpoint /usr/local/bin/farpoint
USER farpoint
VOLUME /data
ENV FARPOINT_LISTEN=0.0.0.0:8650 FARPOINT_DATA=/data
EXPOSE 8650
ENTRYPOINT ["farpoint"]
CMD ["serve"]
