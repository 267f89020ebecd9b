#include "hingeline/record/assemble.h"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <map>

#include "json.h"

namespace hingeline::record {
namespace {

using json::Kind;
using json::Member;
using json::Node;

Node object_node() {
  Node node;
  node.kind = Kind::object;
  return node;
}
Node list_node() {
  Node node;
  node.kind = Kind::array;
  return node;
}

Node* member_of(Node& node, std::string_view name) {
  for (Member& member : node.members) {
    if (member.name == name) return &member.value;
  }
  return nullptr;
}
void set_member(Node& node, std::string_view name, Node value) {
  if (Node* there = member_of(node, name)) {
    *there = std::move(value);
  } else {
    node.members.push_back(Member{std::string(name), 0, 0, std::move(value)});
  }
}
/// Takes a member out; nothing where there is none.
std::optional<Node> take_member(Node& node, std::string_view name) {
  const auto at =
      std::find_if(node.members.begin(), node.members.end(), [&](const Member& m) { return m.name == name; });
  if (at == node.members.end()) return std::nullopt;
  Node out = std::move(at->value);
  node.members.erase(at);
  return out;
}

/// A piece as read_slip() took it.
Node node_of(const Piece& piece) {
  Errors errors;
  return piece.empty() ? object_node() : json::parse(piece.json, "", errors);
}
Piece piece_of(const Node& node) { return {json::print_line(node), {}}; }

/// The steps of a JSON pointer; nothing where it is none.
std::optional<std::vector<std::string>> steps_of(std::string_view pointer) {
  if (pointer.empty() || pointer.front() != '/') return std::nullopt;
  std::vector<std::string> out;
  for (std::size_t at = 1; at <= pointer.size();) {
    const std::size_t end = std::min(pointer.find('/', at), pointer.size());
    std::string step;
    for (std::size_t i = at; i < end; ++i) {
      if (pointer[i] != '~') {
        step += pointer[i];
      } else if (i + 1 < end && (pointer[i + 1] == '0' || pointer[i + 1] == '1')) {
        step += pointer[++i] == '0' ? '~' : '/';
      } else {
        return std::nullopt;
      }
    }
    if (step.empty()) return std::nullopt;
    out.push_back(std::move(step));
    at = end + 1;
  }
  return out;
}

/// Sets a value where the pointer leads, making objects on the way. False: it leads nowhere.
bool set_at(Node& root, const std::string& pointer, Node value) {
  const auto steps = steps_of(pointer);
  if (!steps) return false;
  Node* at = &root;
  for (std::size_t i = 0; i < steps->size(); ++i) {
    const std::string& step = (*steps)[i];
    const bool last = i + 1 == steps->size();
    // "-" only makes sense at a list's end.
    const bool makes_list = !last && (*steps)[i + 1] == "-";
    Node fresh = makes_list ? list_node() : object_node();
    if (at->kind == Kind::object) {
      if (last) {
        set_member(*at, step, std::move(value));
        return true;
      }
      if (member_of(*at, step) == nullptr) set_member(*at, step, std::move(fresh));
      at = member_of(*at, step);
    } else if (at->kind == Kind::array) {
      std::size_t index = at->items.size();
      if (step != "-") {
        const auto [end, fault] = std::from_chars(step.data(), step.data() + step.size(), index);
        const bool whole = fault == std::errc{} && end == step.data() + step.size();
        if (!whole || index > at->items.size()) return false;
      }
      if (index >= kMostInList) return false;
      if (index == at->items.size())
        at->items.push_back(last ? std::move(value) : std::move(fresh));
      else if (last)
        at->items[index] = std::move(value);
      if (last) return true;
      at = &at->items[index];
    } else {
      return false;
    }
  }
  return false;
}

Errors nowhere(const std::string& pointer, const std::string& thing) {
  return {Error{Fault::content, fmt::format("{} leads nowhere", json::in_quotes(pointer)),
                "a JSON pointer into the document it belongs to", Place{thing, "/body/at", 0, 0}}};
}

std::vector<const ThingSlip*> by_id(const std::vector<ThingSlip>& things) {
  std::vector<const ThingSlip*> out;
  for (const ThingSlip& t : things) out.push_back(&t);
  std::sort(out.begin(), out.end(),
            [](const ThingSlip* a, const ThingSlip* b) { return a->thing < b->thing; });
  return out;
}

Slip slip_like(const SlipMaking& making, SlipBody body, std::string of = {}, std::string key = {}) {
  Slip out;
  out.id = making.next_id();
  out.at = making.at;
  out.by = making.by;
  out.of = std::move(of);
  out.key = std::move(key);
  out.body = std::move(body);
  return out;
}

void set_if(Node& node, const char* name, const std::string& text) {
  if (!text.empty()) set_member(node, name, json::text_node(text));
}

void begin_document(Node& root, const char* format) {
  set_member(root, "format", json::text_node(format));
  set_member(root, "version", json::number_node(std::to_string(kVersion)));
}

}  // namespace

tl::expected<std::string, Errors> instrument_document(const InstrumentParts& parts) {
  const auto& instrument = std::get<InstrumentSlip>(parts.instrument.body);
  Node root = object_node();
  begin_document(root, "hingeline-instrument");
  set_if(root, "title", instrument.title);
  set_if(root, "kind", instrument.kind);
  set_if(root, "serial", instrument.serial);
  for (Member& member : node_of(instrument.document).members)
    set_member(root, member.name, std::move(member.value));

  std::vector<const ThingSlip*> keys = by_id(parts.keys);
  const auto order = [](const ThingSlip* key) {
    const NumberEntry& entry = std::get<KeySlip>(key->slip.body).order;
    return entry.known() ? entry.value : 0;
  };
  std::stable_sort(keys.begin(), keys.end(),
                   [&](const ThingSlip* a, const ThingSlip* b) { return order(a) < order(b); });
  std::vector<Node> objects;
  std::map<std::string, std::size_t> place;
  for (const ThingSlip* key : keys) {
    const auto& says = std::get<KeySlip>(key->slip.body);
    Node object = object_node();
    set_if(object, "id", says.id);
    for (Member& member : node_of(says.document).members)
      set_member(object, member.name, std::move(member.value));
    place.emplace(key->thing, objects.size());
    objects.push_back(std::move(object));
  }
  for (const ThingSlip* reading : by_id(parts.readings)) {
    const auto& says = std::get<ReadingSlip>(reading->slip.body);
    Node* into = &root;
    if (!reading->slip.key.empty()) {
      const auto key = place.find(reading->slip.key);
      if (key == place.end()) continue;  // of a key that was struck
      into = &objects[key->second];
    }
    if (!set_at(*into, says.at, node_of(says.value))) return tl::unexpected(nowhere(says.at, reading->thing));
  }
  Node list = list_node();
  list.items = std::move(objects);
  set_member(root, "keys", std::move(list));
  const std::string text = json::print(root);
  auto read = read_instrument(text, "instrument");
  if (!read) return tl::unexpected(std::move(read.error()));
  return write_instrument(*read);
}

tl::expected<std::vector<Slip>, Errors> instrument_slips(std::string_view document, const std::string& file,
                                                         const std::string& owner, const std::string& day,
                                                         const SlipMaking& making) {
  auto read = read_instrument(document, file);
  if (!read) return tl::unexpected(std::move(read.error()));
  Errors errors;
  Node root = json::parse(write_instrument(*read), file, errors);
  const auto text = [&](const char* name) {
    const auto node = take_member(root, name);
    return node ? node->text : std::string();
  };
  take_member(root, "format");
  take_member(root, "version");
  InstrumentSlip instrument;
  instrument.title = text("title");
  instrument.kind = text("kind");
  instrument.serial = text("serial");
  const auto keys = take_member(root, "keys");
  instrument.document = piece_of(root);
  std::vector<Slip> out;
  out.push_back(slip_like(making, std::move(instrument), owner));
  const std::string thing = out.front().id;

  struct Read {
    std::string key;
    std::string at;
    Node value;
  };
  std::vector<Read> readings;
  double order = 0;
  for (Node object : keys ? keys->items : std::vector<Node>{}) {
    KeySlip key;
    if (const auto id = take_member(object, "id")) key.id = id->text;
    key.order = entry_of(++order);
    const auto were_read = take_member(object, "readings");
    key.document = piece_of(object);
    out.push_back(slip_like(making, std::move(key), thing));
    if (!were_read) continue;
    for (const Member& member : were_read->members)
      readings.push_back({out.back().id, json::step("/readings", member.name), member.value});
  }
  if (readings.empty()) return out;
  VisitSlip visit;
  visit.came = day;
  visit.state = VisitState::looked_over;
  out.push_back(slip_like(making, std::move(visit), thing));
  const std::string of = out.back().id;
  for (const Read& r : readings)
    out.push_back(slip_like(making, ReadingSlip{r.at, piece_of(r.value), {}}, of, r.key));
  return out;
}

tl::expected<std::string, Errors> shop_document(const ShopParts& parts) {
  Node root = object_node();
  begin_document(root, "hingeline-shop");
  for (Member& member : node_of(std::get<ShopSlip>(parts.shop.body).document).members)
    set_member(root, member.name, std::move(member.value));
  const auto append = [&](const std::string& list, const Piece& piece) {
    if (member_of(root, list) == nullptr) set_member(root, list, list_node());
    member_of(root, list)->items.push_back(node_of(piece));
  };
  for (const ThingSlip* tool : by_id(parts.tools)) {
    const auto& says = std::get<ToolSlip>(tool->slip.body);
    append(word(says.list), says.document);
  }
  for (const ThingSlip* pattern : by_id(parts.patterns))
    append("patterns", std::get<PatternSlip>(pattern->slip.body).document);
  for (const ThingSlip* preset : by_id(parts.presets)) {
    const auto& says = std::get<PresetSlip>(preset->slip.body);
    if (!set_at(root, says.at, node_of(says.value))) return tl::unexpected(nowhere(says.at, preset->thing));
  }
  auto read = read_shop(json::print(root), "shop");
  if (!read) return tl::unexpected(std::move(read.error()));
  return write_shop(*read);
}

tl::expected<std::vector<Slip>, Errors> shop_slips(std::string_view document, const std::string& file,
                                                   const SlipMaking& making) {
  auto read = read_shop(document, file);
  if (!read) return tl::unexpected(std::move(read.error()));
  Errors errors;
  Node root = json::parse(write_shop(*read), file, errors);
  take_member(root, "format");
  take_member(root, "version");
  std::vector<SlipBody> bodies;
  for (const ToolList list : kToolLists) {
    if (const auto items = take_member(root, word(list))) {
      for (const Node& item : items->items) bodies.emplace_back(ToolSlip{list, piece_of(item), {}});
    }
  }
  if (const auto patterns = take_member(root, "patterns")) {
    for (const Node& item : patterns->items) bodies.emplace_back(PatternSlip{piece_of(item), {}});
  }
  std::vector<Slip> out;
  out.push_back(slip_like(making, ShopSlip{piece_of(root), {}}));
  for (SlipBody& body : bodies) out.push_back(slip_like(making, std::move(body)));
  return out;
}

}  // namespace hingeline::record
