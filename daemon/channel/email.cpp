// The email channel: one mail to one recipient over SMTP. Encrypted unless the server is this very
// machine; never sends a password in clear over a wire, and never asks for a name outside ASCII.
#include "channel/catalogue.h"
#include "channel/mail.h"
#include "channel/secret_file.h"
#include "channel/smtp_reply.h"
#include "channel/transfer.h"

namespace clutchward {
namespace {

class Email final : public Carrier {
 public:
  Email(EmailChannel settings, const CarrierParts& parts)
      : settings_(std::move(settings)), parts_(parts) {}

  std::string fault() const override {
    const Result<Envelope> sealed = envelope();
    return sealed ? "" : sealed.why();
  }
  Carried carry(const Notification& message, const std::stop_token& stop) override;

 private:
  struct Envelope {
    std::string from;
    std::string to;
    std::string password;
  };
  Result<Envelope> envelope() const;
  Carried send(std::string mail, const Envelope& envelope, const std::stop_token& stop) const;

  EmailChannel settings_;
  CarrierParts parts_;
};

Result<Email::Envelope> Email::envelope() const {
  const SmtpSettings& smtp = parts_.smtp;
  if (smtp.url.empty()) return Refusal{"smtp.url is not set: no mail can be sent"};
  Result<std::string> from = mail_address(smtp.from, "smtp.from");
  if (!from) return Refusal{from.why()};
  Result<std::string> to = mail_address(settings_.address, "email");
  if (!to) return Refusal{to.why()};
  std::string password;
  if (!smtp.password_file.empty()) {
    Result<std::string> read = read_password(smtp.password_file);
    if (!read) return Refusal{read.why()};
    password = std::move(*read);
  }
  return Envelope{std::move(*from), std::move(*to), std::move(password)};
}

Carried Email::carry(const Notification& message, const std::stop_token& stop) {
  const Result<Envelope> sealed = envelope();
  if (!sealed) return {Outcome::failed, sealed.why(), std::nullopt};
  Result<std::string> mail =
      compose_mail(message, parts_.site, {parts_.smtp.from, settings_.address});
  if (!mail) return {Outcome::failed, mail.why(), std::nullopt};
  return send(std::move(*mail), *sealed, stop);
}

Carried Email::send(std::string mail, const Envelope& envelope, const std::stop_token& stop) const {
  const SmtpSettings& smtp = parts_.smtp;
  Transfer transfer(parts_.limits, stop, "smtp,smtps");
  TextList recipients;
  if (!recipients.add(envelope.to)) return {Outcome::try_again, "out of memory", std::nullopt};
  transfer.set(CURLOPT_URL, smtp.url);
  transfer.set(CURLOPT_MAIL_FROM, envelope.from);
  transfer.set(CURLOPT_MAIL_RCPT, recipients.get());
  // With a certificate authority of its own even this machine's server is spoken to encrypted.
  const bool plain_allowed = is_loopback_url(smtp.url) && smtp.ca_file.empty();
  transfer.set(CURLOPT_USE_SSL,
               static_cast<long>(plain_allowed ? CURLUSESSL_NONE : CURLUSESSL_ALL));
  if (!smtp.ca_file.empty()) transfer.set(CURLOPT_CAINFO, smtp.ca_file);
  if (!smtp.user.empty()) {
    transfer.set(CURLOPT_USERNAME, smtp.user);
    transfer.set(CURLOPT_PASSWORD, envelope.password);
  }
  transfer.upload(std::move(mail));
  const CURLcode code = transfer.perform();
  return judge_smtp(code, transfer.lines(), transfer.why(code));
}

}  // namespace

std::unique_ptr<Carrier> make_email(const ChannelSettings& settings, const CarrierParts& parts) {
  if (!settings.email) return nullptr;
  return std::make_unique<Email>(*settings.email, parts);
}

}  // namespace clutchward
