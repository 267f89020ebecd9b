#include "forms.h"

#include <utility>

namespace hingeline::store {
namespace {

// TEXT: text in the order of its bytes, on both.
constexpr const char* kFirst = R"sql(
create table meta (name TEXT primary key, value TEXT not null);
create table counter (last bigint not null);
insert into counter (last) values (0);
create table thing (
  id TEXT primary key,
  kind TEXT not null,
  belongs TEXT references thing (id),
  about TEXT references thing (id),
  now_slip TEXT not null,
  struck bigint not null,
  versions bigint not null,
  parted bigint not null
);
create index thing_belongs on thing (belongs, kind, id);
create index thing_kind on thing (kind, id);
create table slip (
  id TEXT primary key,
  number bigint not null unique,
  thing TEXT not null references thing (id),
  replaces TEXT references slip (id),
  line TEXT not null,
  forgotten bigint not null
);
create index slip_thing on slip (thing, number);
create index slip_replaces on slip (replaces);
create table waiting (
  id TEXT primary key,
  needs TEXT not null,
  line TEXT not null,
  why TEXT not null
);
create index waiting_needs on waiting (needs);
create table visit (
  id TEXT primary key references thing (id),
  instrument TEXT not null references thing (id),
  owner TEXT not null,
  state TEXT not null,
  came TEXT not null,
  promised TEXT not null,
  title TEXT not null,
  serial TEXT not null,
  owner_name TEXT not null,
  complaint TEXT not null
);
create index visit_order on visit (promised, id);
create index visit_state on visit (state, promised, id);
create index visit_instrument on visit (instrument, id);
create index visit_owner on visit (owner, id);
create table found (
  word TEXT not null,
  instrument TEXT not null,
  visit TEXT not null,
  source TEXT not null,
  primary key (word, instrument, visit, source)
);
create index found_source on found (source);
create index found_instrument on found (instrument, word);
create table bytes (sha256 TEXT primary key, data BYTES not null);
)sql";

// Who may come in. Read and written by the room access alone; here so that a database has one form.
constexpr const char* kAccess = R"sql(
create table access_password (
  person TEXT primary key,
  login TEXT not null unique,
  hash TEXT not null
);
create table access_pin (
  person TEXT primary key,
  hash TEXT not null,
  wrong bigint not null
);
create table access_device (
  id TEXT primary key,
  token_hash TEXT not null unique,
  name TEXT not null,
  enrolled_by TEXT not null,
  since bigint not null
);
create table access_session (
  token_hash TEXT primary key,
  person TEXT not null,
  device TEXT not null,
  means TEXT not null,
  since bigint not null,
  last_seen bigint not null
);
create index access_session_person on access_session (person, since);
create index access_session_device on access_session (device);
create table access_tries (
  counter TEXT primary key,
  wrong bigint not null,
  last bigint not null
);
create index access_tries_last on access_tries (last);
create table access_log (
  number bigint primary key,
  at bigint not null,
  person TEXT not null,
  what TEXT not null
);
)sql";

// Lists in their order without sorting: those promised first before the rest, of all and of each state.
constexpr const char* kOrders = R"sql(
create index visit_due on visit ((case when promised = '' then 1 else 0 end), promised, id);
drop index found_instrument;
create index found_instrument on found (instrument, word, visit);
create index visit_state_due on visit (state, (case when promised = '' then 1 else 0 end), promised, id);
)sql";

std::string in_dialect(std::string text, sql::Dialect dialect) {
  const bool postgres = dialect == sql::Dialect::postgres;
  const auto replace = [&text](const std::string& from, const std::string& to) {
    for (std::size_t at = text.find(from); at != std::string::npos; at = text.find(from, at + to.size()))
      text.replace(at, from.size(), to);
  };
  replace(" TEXT", postgres ? " text collate \"C\"" : " text");
  replace(" BYTES", postgres ? " bytea" : " blob");
  return text;
}

}  // namespace

std::vector<std::string> forms(sql::Dialect dialect) {
  return {in_dialect(kFirst, dialect), in_dialect(kAccess, dialect), in_dialect(kOrders, dialect)};
}

}  // namespace hingeline::store
