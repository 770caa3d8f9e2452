import java.io.FileInputStream;
import java.io.InputStream;
import java.util.logging.Level;
import java.util.logging.LogManager;
import java.util.logging.Logger;
import org.verapdf.gf.foundry.VeraGreenfieldFoundryProvider;
import org.verapdf.pdfa.Foundries;
import org.verapdf.pdfa.PDFAParser;
import org.verapdf.pdfa.PDFAValidator;
import org.verapdf.pdfa.flavours.PDFAFlavour;
import org.verapdf.pdfa.results.TestAssertion;
import org.verapdf.pdfa.results.ValidationResult;

/**
 * Judges one PDF by the PDF/UA-1 profile (ISO 14289-1) of veraPDF's own classes.
 *
 * <p>Prints one line for each failed check, "clause-test: what the rule asks (where)", then one
 * last line, "judged: N checks, N failed", without which nothing was judged. Exit status 0 when
 * the file was judged, whatever the verdict; 2 when it could not be.
 */
final class PdfuaJudge {
    private static final int ALL_FAILURES = -1;

    public static void main(String[] args) {
        LogManager.getLogManager().reset();
        Logger.getLogger("").setLevel(Level.OFF);
        try {
            VeraGreenfieldFoundryProvider.initialise();
            judge(args[0]);
        } catch (Exception problem) {
            System.err.println("not judged: " + problem);
            System.exit(2);
        }
    }

    private static void judge(String path) throws Exception {
        PDFAFlavour asked = PDFAFlavour.PDFUA_1;
        boolean keepPassed = false;
        boolean showMessages = true;
        boolean showProgress = false;
        try (InputStream file = new FileInputStream(path);
                PDFAParser parser = Foundries.defaultInstance().createParser(file, asked);
                PDFAValidator validator =
                        Foundries.defaultInstance()
                                .createValidator(
                                        asked, ALL_FAILURES, keepPassed, showMessages,
                                        showProgress)) {
            ValidationResult result = validator.validate(parser);
            if (result.getPDFAFlavour() != asked) {
                throw new IllegalStateException("judged as " + result.getPDFAFlavour());
            }
            int failed = 0;
            for (TestAssertion check : result.getTestAssertions()) {
                if (check.getStatus() == TestAssertion.Status.FAILED) {
                    failed++;
                    System.out.println(line(check));
                }
            }
            if (result.isCompliant() != (failed == 0)) {
                throw new IllegalStateException("the verdict and the list of failures disagree");
            }
            System.out.printf(
                    "judged: %d checks, %d failed%n", result.getTotalAssertions(), failed);
        }
    }

    private static String line(TestAssertion check) {
        String said = check.getErrorMessage() == null ? check.getMessage() : check.getErrorMessage();
        String text =
                check.getRuleId().getClause()
                        + "-"
                        + check.getRuleId().getTestNumber()
                        + ": "
                        + said
                        + " ("
                        + check.getLocation().getContext()
                        + ")";
        return text.replaceAll("\\s+", " ");
    }
}
