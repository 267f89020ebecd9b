#pragma once
/// \file
/// All that can be asked for on the command line.

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "book.h"
#include "endurance.h"
#include "paper.h"
#include "serve.h"
#include "shop_book.h"
#include "terminal.h"
#include "trial.h"

namespace hingeline {

/// What the person asked for.
struct Asked {
  std::string file;
  std::string key;
  std::string stack;
  std::string minutes;
  std::string money;
  std::optional<double> weight_leak;
  std::optional<double> weight_feel;
  bool quick = false;
  std::vector<std::string> files;
  std::string figure;
  std::string shop;
  std::string unit;
  std::string colour = "auto";
  std::string pictures;
  std::string picture_kind;
  std::string picture_form;
  double scale = 0;
  PaperLine paper;
  std::string output;
  std::string format;
  std::string shell;
  bool json = false;
  unsigned threads = 0;
  std::size_t draws = 0;
  std::uint64_t seed = 1;
  std::string complaint;
  std::string journal;
  std::string ledger;
  std::string person;
  std::string forget;
  std::string service;
  virtual_bench::TrialSetup trial;
  std::vector<std::string> answers;
  RigAsked rig;
  BookAsked book;
  ShopBookAsked shop_book;
  ServeAsked serve;
  PeopleAsked people;

  [[nodiscard]] LengthUnit unit_or(LengthUnit documents) const {
    return unit.empty() ? documents : unit == "in" ? LengthUnit::inch : LengthUnit::mm;
  }
  [[nodiscard]] Terminal terminal() const {
    using Colour = Terminal::Colour;
    return Terminal::of_standard_output(colour == "always"  ? Colour::always
                                        : colour == "never" ? Colour::never
                                                            : Colour::automatic);
  }
};

}  // namespace hingeline
