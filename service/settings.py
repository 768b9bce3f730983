"""Settings as one table: read once from the environment, checked together, then frozen.

Every name starts with APPROACH_; an unknown one is an error, since a misspelt setting that is
silently ignored is worse than a service that does not start. A secret may be given as NAME_FILE.
"""

from __future__ import annotations

import os
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from ipaddress import IPv4Network, IPv6Network, ip_address, ip_network
from pathlib import Path
from typing import Final
from urllib.parse import urlsplit

from service.fetching.template import Template
from service.keytext import KeyText, key_in
from service.scopes import Scope, scopes_of

PREFIX: Final = "APPROACH_"
FILE_SUFFIX: Final = "_FILE"
ROOT: Final = Path(__file__).resolve().parent.parent
HIGHEST_PORT: Final = 65_535
LOG_LEVELS: Final = ("DEBUG", "INFO", "WARNING", "ERROR")
ADDRESS: Final = re.compile(r"https?://[A-Za-z0-9.:\[\]-]+(/[A-Za-z0-9._~/-]*)?")
SHORTEST_KEY: Final = 32  # 128 bits in hexadecimal
STORE_SCHEMES: Final = ("sqlite:///", "postgresql+psycopg://")
ORIGIN: Final = re.compile(r"https?://[a-z0-9.:\[\]-]+")
VAULT_KEY: Final = re.compile(r"[A-Za-z0-9_-]{43}=")  # 256 bits, in Base64 for addresses
HEADER: Final = re.compile(r"[A-Za-z][A-Za-z0-9-]{0,63}")
FLAGS: Final = {"yes": True, "no": False}
LOCALHOST: Final = "localhost"

Networks = tuple[IPv4Network | IPv6Network, ...]


class SettingsError(Exception):
    """The environment does not make valid settings; carries every problem, not just the first."""

    def __init__(self, problems: tuple[str, ...]) -> None:
        self.problems = problems
        super().__init__("; ".join(problems))


def _integer(low: int, high: int) -> Callable[[str], int]:
    def parse(text: str) -> int:
        if not (text.isascii() and text.isdigit() and low <= int(text) <= high):
            raise ValueError(f"must be a whole number from {low} to {high}")
        return int(text)

    return parse


def _choice(*accepted: str) -> Callable[[str], str]:
    def parse(text: str) -> str:
        if text not in accepted:
            raise ValueError(f"must be one of {', '.join(accepted)}")
        return text

    return parse


def _key(text: str) -> str | None:
    if text and len(text) < SHORTEST_KEY:
        raise ValueError(f"must have {SHORTEST_KEY} characters or more")
    return text or None


def _text(text: str) -> str:
    if not text.strip():
        raise ValueError("must not be empty")
    return text


def _store(text: str) -> str:
    if not text.startswith(STORE_SCHEMES):
        raise ValueError(f"must start with {' or '.join(STORE_SCHEMES)}")
    return text


def _address(text: str) -> str:
    if text and ADDRESS.fullmatch(text) is None:
        raise ValueError("must start with http:// or https://, then a host, without a query")
    return text.rstrip("/")


def _template(text: str) -> Template | None:
    return Template(text) if text.strip() else None


def _hosts(text: str) -> tuple[str, ...]:
    return tuple(host.strip().lower() for host in text.split(",") if host.strip())


def _flag(text: str) -> bool:
    if text not in FLAGS:
        raise ValueError(f"must be one of {', '.join(FLAGS)}")
    return FLAGS[text]


def _networks(text: str) -> Networks:
    """Raises: ValueError, that of the library, which names what is none."""
    return tuple(ip_network(each.strip()) for each in text.split(",") if each.strip())


def _folder(text: str) -> Path | None:
    """Whether it is there is looked at when it is read."""
    return Path(text).absolute() if text.strip() else None


def _header(text: str) -> str:
    if text and HEADER.fullmatch(text) is None:
        raise ValueError("must be the name of a header: letters, digits and hyphens")
    return text


def _origins(text: str) -> tuple[str, ...]:
    found = _hosts(text)
    if any(ORIGIN.fullmatch(each) is None for each in found):
        raise ValueError("must be origins such as https://desk.example, with commas between")
    return found


def _key_text(text: str) -> KeyText | None:
    found = key_in(text)
    if text and found is None:
        raise ValueError("must be the text of a key, as `python -m service.keys text` makes one")
    return found


def _vault_keys(text: str) -> tuple[str, ...]:
    keys = tuple(each.strip() for each in text.split(",") if each.strip())
    if not all(VAULT_KEY.fullmatch(each) for each in keys):
        raise ValueError("must be keys, as `python -m service.webhooks key` makes one")
    return keys


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """One row of the table: what it is called, how it is read and what it means."""

    name: str
    parse: Callable[[str], object]
    default: str
    help: str
    secret: bool = False

    @property
    def variable(self) -> str:
        """The name in the environment."""
        return f"{PREFIX}{self.name.upper()}"


SETTINGS: Final = (
    Setting(
        name="store",
        parse=_store,
        default=f"sqlite:///{Path.cwd() / 'var' / 'decisions.sqlite3'}",
        help="Where decisions are recorded: `sqlite:///` and an absolute path (on a local disk),"
        " or `postgresql+psycopg://` and so on. Default: `var/decisions.sqlite3` in"
        " the folder it is started in.",
        secret=True,
    ),
    Setting(
        name="store_timeout_s",
        parse=_integer(1, 60),
        default="5",
        help="How long a request waits for the store before it fails.",
    ),
    Setting(
        name="signing_key",
        parse=_key,
        default="",
        help="A secret that signs every link of the chain of records (HMAC-SHA-256): 32 characters"
        " or more. Default: none, links are unsigned.",
        secret=True,
    ),
    Setting(
        name="keep_days",
        parse=_integer(0, 36_500),
        default="0",
        help="Days after which `python -m service.store purge` removes the bodies of a decision;"
        " its link stays, and its address answers 410. 0: never.",
    ),
    Setting(
        name="keep_keys_days",
        parse=_integer(1, 36_500),
        default="7",
        help="Days after which the same command forgets an `Idempotency-Key`.",
    ),
    Setting(
        name="keep_audit_days",
        parse=_integer(0, 36_500),
        default="0",
        help="Days after which the same command removes entries of the audit log. 0: never.",
    ),
    Setting(
        name="aerodromes",
        parse=_folder,
        default="",
        help="A folder of aerodrome files (TOML), read at the start instead of the invented ones"
        " that come with the service. `python -m service.aerodromes compile FOLDER` makes an index"
        " of many; after a change it has to be made anew. Default: none.",
    ),
    Setting(
        name="weather_url",
        parse=_template,
        default="",
        help="Where `weather.fetch` gets reports from: an address with `{stations}` (codes with"
        " commas) and perhaps `{kind}` (`metar` or `taf`; without it one call asks for both) that"
        " answers with raw reports as plain text. `https://`, or `http://` on this machine."
        " Default: none, nothing is fetched.",
        secret=True,
    ),
    Setting(
        name="weather_hosts",
        parse=_hosts,
        default="",
        help="The hosts that may be called, with commas between. Default: that of"
        " `APPROACH_WEATHER_URL`.",
    ),
    Setting(
        name="weather_deadline_s",
        parse=_integer(1, 30),
        default="5",
        help="How long a decision waits for reports at most, second tries included.",
    ),
    Setting(
        name="decision_cpu_s",
        parse=_integer(1, 600),
        default="10",
        help="Seconds of processor time that one decision may take; beyond them it ends with 503"
        " and nothing is recorded. What an answer holds does not depend on it.",
    ),
    Setting(
        name="dear_at_once",
        parse=_integer(1, 64),
        default="1",
        help="How many dear decisions (flip points, fuel ahead, other rulebooks, more than five"
        " alternates) each server process works on at once; others wait two seconds, then get 503.",
    ),
    Setting(
        name="max_body_bytes",
        parse=_integer(1_024, 100_000_000),
        default="1000000",
        help="The largest request body; a larger one is answered with 413.",
    ),
    Setting(
        name="batch_max_bytes",
        parse=_integer(1_024, 10_000_000_000),
        default="64000000",
        help="The largest body of a batch; a larger one is answered with 413. A line of it may have"
        " `APPROACH_MAX_BODY_BYTES`.",
    ),
    Setting(
        name="batch_max_lines",
        parse=_integer(1, 10_000_000),
        default="10000",
        help="The most lines of a batch.",
    ),
    Setting(
        name="batch_timeout_s",
        parse=_integer(1, 86_400),
        default="600",
        help="How long a batch is worked on; what is not decided by then is not decided.",
    ),
    Setting(
        name="batch_processes",
        parse=_integer(1, 64),
        default=str(os.cpu_count() or 1),
        help="Processes that decide large batches, started when the first one comes, for each"
        " server process. 1: the server process decides itself. Default: one per processor core.",
    ),
    Setting(
        name="host",
        parse=_text,
        default="127.0.0.1",
        help="The address to listen on. Loopback unless a proxy or a container stands in front.",
    ),
    Setting(
        name="port", parse=_integer(1, HIGHEST_PORT), default="8080", help="The port to listen on."
    ),
    Setting(
        name="public_address",
        parse=_address,
        default="",
        help="What callers reach the service by, such as `https://host` or `https://host/path`;"
        " addresses in problems begin with it. Default: as the request called the service.",
    ),
    Setting(
        name="admin_key",
        parse=_key_text,
        default="",
        help="The text of a first key with every scope, kept at the start unless it is there:"
        " `python -m service.keys text` makes one. Better as `APPROACH_ADMIN_KEY_FILE`. Default:"
        " none.",
        secret=True,
    ),
    Setting(
        name="behind_proxy",
        parse=_flag,
        default="no",
        help="yes: a proxy stands in front, so that loopback is open no longer: callers need a key,"
        " or a proxy that names them. Needs `APPROACH_HOSTS` or `APPROACH_PUBLIC_ADDRESS`.",
    ),
    Setting(
        name="proxies",
        parse=_networks,
        default="",
        help="Addresses or networks of the proxies, with commas between, such as"
        " `127.0.0.1,10.0.3.0/24`: from them alone `APPROACH_IDENTITY_HEADER` is taken.",
    ),
    Setting(
        name="identity_header",
        parse=_header,
        default="",
        help="The header in which a proxy names whom it has verified, and which it removes from"
        " what callers send. Default: none, callers need a key.",
    ),
    Setting(
        name="identity_scopes",
        parse=scopes_of,
        default="decide,read",
        help="What those may do whom a proxy names: of `decide`, `read`, `admin`.",
    ),
    Setting(
        name="hosts",
        parse=_hosts,
        default="",
        help="The names that callers may call the service by (`Host`), with commas between; others"
        " are answered with 421. A name without a port is good with any. Default: behind a proxy"
        " that of `APPROACH_PUBLIC_ADDRESS`, else any.",
    ),
    Setting(
        name="session_minutes",
        parse=_integer(1, 10_080),
        default="480",
        help="How long the session of a browser lasts that has signed in with a key.",
    ),
    Setting(
        name="requests_per_minute",
        parse=_integer(0, 1_000_000),
        default="600",
        help="How many requests a minute each server process answers to one key, or to one whom a"
        " proxy names; more are answered with 429. 0: any number.",
    ),
    Setting(
        name="cors_origins",
        parse=_origins,
        default="",
        help="Origins whose pages may call with a key (CORS), with commas between. Default: none.",
    ),
    Setting(
        name="workers",
        parse=_integer(1, 64),
        default=str(os.cpu_count() or 1),
        help="Server processes. Default: one per processor core.",
    ),
    Setting(
        name="threads", parse=_integer(1, 64), default="4", help="Threads in each server process."
    ),
    Setting(
        name="connections_of_one_address",
        parse=_integer(1, 1_000_000),
        default="256",
        help="How many connections of one address each server process keeps open; more are answered"
        " with 503. Raise it where a proxy in front is the only address.",
    ),
    Setting(
        name="event_streams",
        parse=_integer(0, 20_000),
        default="1000",
        help="How many event streams (`GET /v1/events`) are open at once; more are answered with"
        " 503. They have a process of their own, begun when the first one comes. 0: there are"
        " none.",
    ),
    Setting(
        name="most_watches",
        parse=_integer(0, 100_000),
        default="1000",
        help="How many watches (`POST /v1/watches`) may be open at once in a store; more are"
        " answered with 503. A process of its own looks at them, with as many more as"
        " `APPROACH_BATCH_PROCESSES` says, begun with the first watch. 0: none, and no such"
        " process.",
    ),
    Setting(
        name="webhook_hosts",
        parse=_hosts,
        default="",
        help="The hosts that events may be sent to (webhooks), with commas between. Names that lead"
        " to private addresses need these listed as well. Default: none, nothing is sent.",
    ),
    Setting(
        name="webhook_key",
        parse=_vault_keys,
        default="",
        help="The key that secrets of webhooks are kept under: `python -m service.webhooks key`"
        " makes one. Several with commas between: the first encrypts, all decrypt. Default: none,"
        " nothing is sent.",
        secret=True,
    ),
    Setting(
        name="log_level",
        parse=_choice(*LOG_LEVELS),
        default="INFO",
        help="The least serious line that is logged: DEBUG, INFO, WARNING or ERROR.",
    ),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """The settings in force; field names are those of the table in lower case."""

    store: str
    store_timeout_s: int
    signing_key: str | None
    keep_days: int
    keep_keys_days: int
    keep_audit_days: int
    aerodromes: Path | None
    weather_url: Template | None
    weather_hosts: tuple[str, ...]
    weather_deadline_s: int
    decision_cpu_s: int
    dear_at_once: int
    max_body_bytes: int
    batch_max_bytes: int
    batch_max_lines: int
    batch_timeout_s: int
    batch_processes: int
    host: str
    port: int
    public_address: str
    admin_key: KeyText | None
    behind_proxy: bool
    proxies: Networks
    identity_header: str
    identity_scopes: frozenset[Scope]
    hosts: tuple[str, ...]
    session_minutes: int
    requests_per_minute: int
    cors_origins: tuple[str, ...]
    workers: int
    threads: int
    connections_of_one_address: int
    event_streams: int
    most_watches: int
    webhook_hosts: tuple[str, ...]
    webhook_key: tuple[str, ...]
    log_level: str

    @property
    def stands_open(self) -> bool:
        """Whether nobody is asked for a key: on loopback, without a proxy in front."""
        return is_loopback(self.host) and not self.behind_proxy

    @property
    def accepted_hosts(self) -> tuple[str, ...]:
        """The names that it may be called by; none: any."""
        if self.hosts or not self.behind_proxy:
            return self.hosts
        return (urlsplit(self.public_address).netloc.lower(),)


def is_loopback(host: str) -> bool:
    """Whether only this machine reaches an address; of a name that is not known, it is not so."""
    try:
        return ip_address(host.strip("[]")).is_loopback
    except ValueError:
        return host.lower() == LOCALHOST


def settings_from(environment: Mapping[str, str]) -> Settings:
    """The settings that an environment describes.

    Raises: SettingsError with every unknown name and unacceptable value at once.
    """
    problems = list(_unknown_names(environment))
    values: dict[str, object] = {}
    for setting in SETTINGS:
        try:
            values[setting.name] = setting.parse(_given(setting, environment))
        except (ValueError, OSError) as error:
            problems.append(f"{setting.variable}: {error}")
    problems += _foreign_host(values)
    problems += _proxy_alone(values)
    if problems:
        raise SettingsError(tuple(problems))
    return Settings(**values)  # type: ignore[arg-type]  # the table's names are the fields; tested


def _unknown_names(environment: Mapping[str, str]) -> tuple[str, ...]:
    known = {setting.variable for setting in SETTINGS}
    known |= {setting.variable + FILE_SUFFIX for setting in SETTINGS if setting.secret}
    ours = sorted(name for name in environment if name.startswith(PREFIX))
    return tuple(f"{name}: no such setting" for name in ours if name not in known)


def _foreign_host(values: Mapping[str, object]) -> tuple[str, ...]:
    template, hosts = values.get("weather_url"), values.get("weather_hosts")
    if not isinstance(template, Template) or not isinstance(hosts, tuple):
        return ()
    allowed = not hosts or template.host in hosts
    return () if allowed else (f"{PREFIX}WEATHER_URL: its host is not in {PREFIX}WEATHER_HOSTS",)


def _proxy_alone(values: Mapping[str, object]) -> tuple[str, ...]:
    """What a proxy in front needs, and what means nothing without one."""
    behind, header = values.get("behind_proxy"), values.get("identity_header")
    problems = []
    if behind is True and not (values.get("hosts") or values.get("public_address")):
        problems.append(
            f"{PREFIX}BEHIND_PROXY: needs {PREFIX}HOSTS or {PREFIX}PUBLIC_ADDRESS, the names that"
            " callers use"
        )
    if header and not (behind and values.get("proxies", True)):
        problems.append(
            f"{PREFIX}IDENTITY_HEADER: needs {PREFIX}BEHIND_PROXY=yes, and in {PREFIX}PROXIES who"
            " may send it"
        )
    return tuple(problems)


def _given(setting: Setting, environment: Mapping[str, str]) -> str:
    file = environment.get(setting.variable + FILE_SUFFIX) if setting.secret else None
    if file is None:
        return environment.get(setting.variable, setting.default)
    if setting.variable in environment:
        raise ValueError(f"is given twice: also as {setting.variable}{FILE_SUFFIX}")
    return Path(file).read_text(encoding="utf-8").strip()
