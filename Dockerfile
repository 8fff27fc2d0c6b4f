# Build:  docker build -t rillwood .
# Run:    docker run --rm --network none -v "$PWD:/data" rillwood map survey.yaml
#         (add --user "$(id -u):$(id -g)" so that the results are yours)
# scripts/docker-check runs these same steps without a Docker engine.

FROM golang:1.26-bookworm AS build
RUN apt-get update \
 && apt-get install -y --no-install-recommends ca-certificates g++ libgdal-dev pkg-config \
 && rm -rf /var/lib/apt/lists/*
WORKDIR /src
COPY go.mod go.sum ./
RUN go mod download
COPY . .
RUN CGO_ENABLED=1 go build -trimpath -buildvcs=false -ldflags=-s -o /out/rillwood ./cmd/rillwood

FROM debian:bookworm-slim
RUN apt-get update \
 && apt-get install -y --no-install-recommends libgdal32 proj-data \
 && rm -rf /var/lib/apt/lists/* \
 && useradd --create-home --uid 10001 forager \
 && install -d -o forager -g forager /data
COPY --from=build /out/rillwood /usr/local/bin/rillwood
USER forager
WORKDIR /data
VOLUME /data
ENTRYPOINT ["rillwood"]
