import java.io.BufferedReader;
import java.io.FileInputStream;
import java.io.InputStream;
import java.io.InputStreamReader;
import java.nio.charset.StandardCharsets;
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
 * Judges PDFs by the PDF/UA-1 profile (ISO 14289-1) of veraPDF's own classes.
 *
 * <p>Takes the path of a file on each line of its input, until that ends. For each it prints one
 * line for each failed check, "clause-test: what the rule asks (where)", then one last line:
 * "judged: N checks, N failed", or "not judged: why".
 */
final class PdfuaJudge {
    private static final int ALL_FAILURES = -1;

    public static void main(String[] args) throws Exception {
        LogManager.getLogManager().reset();
        Logger.getLogger("").setLevel(Level.OFF);
        VeraGreenfieldFoundryProvider.initialise();
        BufferedReader paths =
                new BufferedReader(new InputStreamReader(System.in, StandardCharsets.UTF_8));
        for (String path = paths.readLine(); path != null; path = paths.readLine()) {
            try {
                judge(path);
            } catch (Exception problem) {
                String why = String.valueOf(problem).replaceAll("\\s+", " ");
                System.out.println("not judged: " + why);
            }
            System.out.flush();
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
