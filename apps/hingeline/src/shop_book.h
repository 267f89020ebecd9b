#pragma once
/// \file
/// What a person at their own bench puts into the book and takes out of it, from the command line.

#include <string>

#include "hingeline/desk/trouble.h"
#include "terminal.h"

namespace hingeline {

struct ShopBookAsked {
  std::string book;
  std::string file;  ///< document; "-" is standard input or output
  std::string id;    ///< of a visit, an owner
  std::string owner;
  std::string complaint;
  std::string promised;
  std::string words;
  std::string state;
  std::string at;     ///< of a setting
  std::string value;  ///< empty: as the shop document has it
  std::string kind;   ///< of a paper
  std::string language;
  std::string sheet;
  std::string unit;
  std::string day;
  std::string visit;  ///< empty: all that the other fields ask for
  std::string key;
  bool json = false;
};

/// Each does what its command says and gives what is to be printed.
tl::expected<std::string, record::Errors> shop_take_in(const ShopBookAsked& asked, const Terminal& terminal);
tl::expected<std::string, record::Errors> shop_find(const ShopBookAsked& asked, const Terminal& terminal);
tl::expected<std::string, record::Errors> shop_document(const ShopBookAsked& asked, const Terminal& terminal);
tl::expected<std::string, record::Errors> shop_put_shop(const ShopBookAsked& asked, const Terminal& terminal);
tl::expected<std::string, record::Errors> shop_get_shop(const ShopBookAsked& asked, const Terminal& terminal);
tl::expected<std::string, record::Errors> shop_settings(const ShopBookAsked& asked, const Terminal& terminal);
tl::expected<std::string, record::Errors> shop_set(const ShopBookAsked& asked, const Terminal& terminal);
/// These write what they give to the file themselves.
tl::expected<std::string, record::Errors> shop_readings(const ShopBookAsked& asked, const Terminal& terminal);
tl::expected<std::string, record::Errors> shop_jobs(const ShopBookAsked& asked, const Terminal& terminal);
/// One paper of every visit asked for, in one file; progress on standard error.
tl::expected<std::string, record::Errors> shop_papers(const ShopBookAsked& asked, const Terminal& terminal);
tl::expected<std::string, record::Errors> shop_quoted(const ShopBookAsked& asked, const Terminal& terminal);
tl::expected<std::string, record::Errors> shop_owner(const ShopBookAsked& asked, const Terminal& terminal);
tl::expected<std::string, record::Errors> shop_forget(const ShopBookAsked& asked, const Terminal& terminal);

}  // namespace hingeline
